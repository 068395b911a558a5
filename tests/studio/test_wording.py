"""The studio's sentences: the same in every language, and complete."""

from __future__ import annotations

from counterpane.wording import LANGUAGES, catalogue, placeholders


def test_every_language_says_the_same_things() -> None:
    """The same keys, and the same names in braces in each."""
    english = catalogue("studio", "en").sentences
    for language in LANGUAGES:
        others = catalogue("studio", language).sentences
        assert others.keys() == english.keys()
        for key, sentence in others.items():
            assert placeholders(sentence) == placeholders(english[key]), (language, key)
