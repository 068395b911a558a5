"""The best cover: of all claims, those that can stand together and are worth most.

Two statements of one line may share the note that ends one and begins the other; beyond that a note belongs
to one statement. Statements in different lines never compete, so that every entry of a stretto is kept.
Method: weighted interval scheduling by dynamic programming (Kleinberg and Tardos, Algorithm Design, 2005, 6.1).
"""

from __future__ import annotations

from bisect import bisect_right

from counterpane.analysis.statements_claims import Claim


def best_cover(found: list[Claim]) -> list[Claim]:
    """Return the claims that are worth most together, in the order of the joined line."""
    ordered = sorted(found, key=lambda claim: (claim.last, claim.first, claim.worth))
    chosen = best_intervals(
        [claim.first for claim in ordered], [claim.last for claim in ordered], [claim.worth for claim in ordered]
    )
    return [ordered[index] for index in chosen]


def best_intervals(firsts: list[int], lasts: list[int], worths: list[float]) -> list[int]:
    """Return the indices of the spans (ordered by last note) that are worth most and share end notes at most."""
    best = [0.0]
    before: list[int] = []
    for index, (first, worth) in enumerate(zip(firsts, worths, strict=True)):
        prior = bisect_right(lasts, first, 0, index)
        before.append(prior)
        best.append(max(best[prior] + worth, best[index]))
    chosen: list[int] = []
    index = len(firsts)
    while index:
        if best[index] > best[index - 1]:
            chosen.append(index - 1)
            index = before[index - 1]
        else:
            index -= 1
    return chosen[::-1]
