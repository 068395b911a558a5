"""One vocabulary for every stage: frozen dataclasses over the standard library.

`piece` holds what was written, `performance` what was played, `analysis` what was found in the score,
`practice` what is to be practised, `assessment` what was heard in an attempt.
"""
