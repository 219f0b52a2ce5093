"""Bias watch over a unit: does what one instrument or one person read lie otherwise than what the others did?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

from kit.assessment.shown.mean_errors import PERSON, Observation
from kit.calculations.bias import Lean, leans

CHANCE: Final = 0.02  # that a unit without any bias raises a question; House definition
GROSS_PCT: Final = 5.0  # of travel; a mean error beyond is the valve's own, and would hide every instrument's


@dataclass(frozen=True, slots=True)
class Watched:
    """One instrument in one role, or one person, held against the others."""

    of: str
    lean: Lean
    tags: int
    within_tags: bool  # whether the same tags, unadjusted, were read by both; else tags are held against other tags
    stands_out: bool
    question: str  # "" where it does not stand out
    gross: int  # stages of the unit that were left out


def bias_watch(observed: Sequence[Observation]) -> tuple[Watched, ...]:
    """Each instrument in each role and each person against the others, those that stand out first.

    Notes
    -----
    House definition: held alike are the stages of one tag between which nothing was adjusted, as left and the next as
    found; where no such pair tells, as found stages of all tags against each other, and as left ones, so that the tags'
    own scatter counts. What stands out has a probability by chance below `CHANCE` over all that is asked of the unit
    (C. E. Bonferroni's inequality), and is the greatest of its kind: what it is held against leans the other way.
    """
    found: list[Watched] = []
    for of, own in groupby(sorted(observed, key=lambda each: each.of), key=lambda each: each.of):
        stages = list(own)
        fair = [each for each in stages if abs(each.mean_pct) <= GROSS_PCT]
        for lean, within in _best(fair):
            tags = len({each.tag for each in fair if each.levels.get(lean.factor) == lean.level})
            found.append(Watched(of, lean, tags, within, False, "", len(stages) - len(fair)))
    return tuple(sorted(_asked(found), key=lambda each: not each.stands_out))


def _best(stages: Sequence[Observation]) -> Iterator[tuple[Lean, bool]]:
    """Each level by what tells most of it: the same tags before other tags, all factors at once before its own alone.

    Its own alone: what it cannot be told apart from is said beside it.
    """
    names = list(dict.fromkeys(name for each in stages for name in each.levels))
    tried: list[tuple[dict[tuple[str, str], Lean], bool]] = []
    for within in (True, False):
        alone = [_leans(stages, [name], within=within) for name in names]
        tried += [(_leans(stages, names, within=within), within)]
        tried += [({key: lean for each in alone for key, lean in each.items()}, within)]
    for key in tried[0][0]:
        known = [(by_key[key], within) for by_key, within in tried if by_key[key].lean is not None]
        lean, within = known[0] if known else (tried[-1][0][key], False)
        joint = tried[0 if within else 2][0][key]
        yield replace(lean, why_not=joint.why_not if joint.lean is None else ""), within


def _leans(stages: Sequence[Observation], names: Sequence[str], *, within: bool) -> dict[tuple[str, str], Lean]:
    if not stages:
        return {}
    factors = {name: [each.levels.get(name, "") for each in stages] for name in names}
    blocks = [each.state if within else each.stage for each in stages]
    order = [float(each.place) if within else 0.0 for each in stages]
    return {(each.factor, each.level): each for each in leans([one.mean_pct for one in stages], factors, blocks, order)}


def _asked(found: Sequence[Watched]) -> Iterator[Watched]:
    tests = max(sum(each.lean.lean is not None for each in found), 1)
    kinds: dict[tuple[str, str], list[Watched]] = {}
    for each in found:
        kinds.setdefault((each.of, each.lean.factor), []).append(each)
    for each in found:
        others = [one for one in kinds[each.of, each.lean.factor] if one.lean.lean is not None]
        probability = each.lean.probability
        greatest = max((_significance(one.lean) for one in others), default=0.0)
        out = probability is not None and probability * tests < CHANCE and _significance(each.lean) >= greatest * 0.999
        yield replace(each, stands_out=out, question=_question(each, len(others)) if out else "")


def _significance(lean: Lean) -> float:
    if lean.lean is None or not lean.expanded_uncertainty:
        return 0.0
    return abs(lean.lean) / lean.expanded_uncertainty


def _question(each: Watched, of_kind: int) -> str:
    lean, only_two = each.lean, of_kind == 2
    value = f"{lean.lean:+.2f} % of travel (U {lean.expanded_uncertainty:.2f} %)"
    basis = "the same tags, unadjusted" if each.within_tags else "other tags"
    what = f"{lean.level} as {lean.factor} instrument" if lean.factor != PERSON else f"what {lean.level} read"
    ask = "is one of them out, or was something set otherwise?" if lean.factor != PERSON else "what was done otherwise?"
    two = " Of two it cannot be told which." if only_two else ""
    alias = f" It {lean.why_not}." if lean.why_not else ""
    return f"Mean {each.of} of {what} lies {value} from the others, against {basis}: {ask}{two}{alias}"
