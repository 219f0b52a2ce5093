"""Whether one instrument, or one person, reads otherwise than the others do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtr, stdtrit

from kit.basis.arrays import BoolArray, CalculationInputError, FloatArray, IntArray, series

Texts = NDArray[np.str_]
COVERAGE: Final = 0.9545  # of an expanded uncertainty, as in the budgets
_ALIASED: Final = 1e-8  # of a contrast of length 1 or so: what binary rounding leaves of one that is known
DRIFT: Final = "drift"  # the factor of what changed from one time to the next


@dataclass(frozen=True, slots=True)
class Lean:
    """How far the values of one level lie from those of the others of its factor, block by block alike."""

    factor: str
    level: str
    mean: float | None  # of its values as they are, whatever block they are of; None: it has none
    lean: float | None  # None: it cannot be told apart, ``why_not`` says from what
    expanded_uncertainty: float | None
    probability: float | None  # that scatter alone leans as far, two-sided
    count: int  # values of it that are held against others
    why_not: str = ""


def leans(
    values: ArrayLike, factors: Mapping[str, Sequence[str]], blocks: Sequence[str], order: ArrayLike
) -> tuple[Lean, ...]:
    """How far the values of each level of each factor lie from those of the others, adjusted for blocks and factors.

    Parameters
    ----------
    values : array, shape (n,)
        One value an observation [any unit]. A nan is skipped.
    factors : mapping
        By factor, such as "position", the level of each observation, such as an instrument; "": none is known.
    blocks : sequence, length n
        What must not be held against another: observations of one block differ by their levels and by scatter alone.
    order : array, shape (n,)
        Place in time within the block, for a drift that all blocks share. A value with a nan here is skipped too.

    Notes
    -----
    Ordinary least squares with an effect for each block, taken away by centring [1]_, of a shared drift and of each
    level of each factor; a contrast is known where the design determines it [2]_. Uncertainty from the residual
    scatter, t with the degrees of freedom that are left [2]_. **House definition**: the contrast is of a level against
    the plain mean of the levels that are linked to it by blocks.

    References
    ----------
    .. [1] R. Frisch and F. V. Waugh, "Partial Time Regressions as Compared with Individual Trends", Econometrica 1(4),
       1933, 387-401: what is taken out of both sides first leaves the other coefficients as they are.
    .. [2] S. R. Searle, "Linear Models", Wiley, 1971, section 5.4: estimable functions and their variance.

    Examples
    --------
    >>> found = leans([0.1, 0.7, -0.2, 0.4, 0.3, 0.9], {"by": ["a", "b"] * 3}, list("112233"), [0, 1, 1, 0, 0, 1])
    >>> [(each.level, round(each.lean, 2), each.count) for each in found]
    [('a', -0.6, 3), ('b', 0.6, 3)]
    """
    observed = series(values, "values")
    if any(len(each) != observed.size for each in (*factors.values(), blocks)):
        raise CalculationInputError("Every value needs a level of each factor and a block.")
    place = series(order, "order", length=observed.size)
    kept = np.isfinite(observed) & np.isfinite(place)
    block = np.unique(np.asarray(blocks, dtype=object)[kept].astype(str), return_inverse=True)[1]
    levels = {name: np.asarray(each, dtype=object)[kept].astype(str) for name, each in factors.items()}
    model = _Model.of(observed[kept], levels, block, place[kept])
    return tuple(_lean(name, level, model) for name in levels for level in sorted(set(levels[name].tolist()) - {""}))


@dataclass(frozen=True, slots=True, eq=False)
class _Model:
    """The observations centred within their blocks, and what least squares make of them."""

    value: FloatArray
    levels: Mapping[str, Texts]
    block: IntArray
    columns: tuple[tuple[str, str], ...]  # factor and level
    known: FloatArray  # (p, p) projection onto what the design determines
    inverse: FloatArray  # (p, p) of the normal equations
    effects: FloatArray  # (p,)
    variance: float
    freedom: int

    @classmethod
    def of(cls, value: FloatArray, levels: Mapping[str, Texts], block: IntArray, order: FloatArray) -> _Model:
        names = [(name, level) for name, each in levels.items() for level in sorted(set(each.tolist()))]
        raw = [order, *((levels[name] == level).astype(float) for name, level in names)]
        design = np.column_stack([_centred(each, block) for each in raw])
        centred = _centred(value, block)
        inverse = np.linalg.pinv(design.T @ design, rcond=1e-10, hermitian=True)
        effects = inverse @ design.T @ centred
        known = np.asarray(inverse @ design.T @ design, dtype=float)
        rank = round(float(np.trace(known)))
        freedom = value.size - len(set(block.tolist())) - rank
        residual = centred - design @ effects
        variance = float(residual @ residual) / freedom if freedom > 0 else np.nan
        columns = ((DRIFT, ""), *names)
        return cls(value, levels, block, columns, known, np.asarray(inverse, dtype=float), effects, variance, freedom)

    def compares(self, factor: str) -> BoolArray:
        """Which observations share their block with one of another level, shape (n,)."""
        code = np.unique(self.levels[factor], return_inverse=True)[1]
        pairs = np.unique(np.column_stack([self.block, code]), axis=0)[:, 0]
        return np.asarray(np.bincount(pairs, minlength=int(self.block.max(initial=0)) + 1)[self.block] > 1)

    def linked(self, factor: str, level: str) -> set[str]:
        """The levels of a factor that blocks link to one, step by step."""
        found, levels = {level}, self.levels[factor]
        while True:
            shared = np.isin(self.block, self.block[np.isin(levels, list(found))])
            more = set(levels[shared].tolist()) - {""}
            if more <= found:
                return found
            found |= more


def _lean(factor: str, level: str, model: _Model) -> Lean:
    own = model.levels[factor] == level
    mean = float(model.value[own].mean()) if own.any() else None
    others = sorted(model.linked(factor, level) - {level})
    count = int(model.compares(factor)[own].sum())
    if not others:
        return Lean(factor, level, mean, None, None, None, count, "nothing was read with it and with another alike")
    contrast = np.array(
        [
            (1.0 if each == level else -1.0 / len(others) if each in others else 0.0) if name == factor else 0.0
            for name, each in model.columns
        ]
    )
    lost = contrast - model.known @ contrast
    if float(np.abs(lost).max()) > _ALIASED:
        return Lean(factor, level, mean, None, None, None, count, _aliases(factor, own, lost, model))
    if model.freedom < 1:
        return Lean(factor, level, mean, None, None, None, count, "too few values to know their scatter")
    lean = float(contrast @ model.effects)
    deviation = float(np.sqrt(max(model.variance * float(contrast @ model.inverse @ contrast), 0.0)))
    wide = float(stdtrit(model.freedom, 0.5 + COVERAGE / 2.0))
    t = abs(lean) / deviation if deviation > 0.0 else (np.inf if lean else 0.0)
    probability = float(2.0 * stdtr(model.freedom, -t))
    return Lean(factor, level, mean, lean, wide * deviation, probability, count)


def _aliases(factor: str, own: BoolArray, lost: FloatArray, model: _Model) -> str:
    """From what a contrast cannot be told apart: a factor, and its level where that alone went together with it."""
    shared = dict.fromkeys(
        name for (name, _), part in zip(model.columns, lost, strict=True) if abs(part) > _ALIASED and name != factor
    )
    told = []
    for name in shared:
        together = set(model.levels[name][own].tolist()) if name in model.levels else set()
        told.append(f"{name} {together.pop()}".strip() if len(together) == 1 else name)
    return f"cannot be told apart from {', '.join(told)}" if told else "cannot be told apart from the others"


def _centred(values: FloatArray, block: IntArray) -> FloatArray:
    count = np.bincount(block)
    return np.asarray(values - (np.bincount(block, weights=values) / count)[block], dtype=float)
