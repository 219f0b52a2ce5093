"""The rules of record quality tried: on clean records, and on records with one error each."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Final

from kit.records.suspicions.suspicions import RULES, see
from tests.making.records.errors import Error
from tests.making.records.typed_tags import TypedTag, Wanted, typed_tag
from tests.making.records.units import read_tags

OPEN: Final = "impossible, so open"


@dataclass
class Clean:
    """False alarms: records with a flag, by rule and in all."""

    records: int = 0
    by_rule: Counter[str] = field(default_factory=Counter)
    in_all: int = 0


@dataclass(frozen=True)
class Caught:
    """Of records with one error those about which its rule asked or whose value is open, and those that any has."""

    error: Error
    records: int
    by_its_rule: int
    by_any: int


def false_alarms(records: int, first: int = 0) -> Clean:
    """So many clean records in one unit."""
    tags = [typed_tag(number, Random(number)) for number in range(first, first + records)]
    flagged = _flagged(tags)
    found = Clean(records)
    for rule, named in flagged.items():
        found.by_rule[rule] = len(named)
    found.in_all = len(set().union(*flagged.values()))
    return found


def catch(error: Error, records: int, first: int = 100_000) -> Caught:
    """So many records with the error, each beside clean ones."""
    spoilt: list[TypedTag] = []
    others: list[TypedTag] = []
    for number in range(records):
        rng = Random(first + number)
        made = typed_tag(first + number, rng, error.wanted)
        peers = [_peer(first + records * place + number, error) for place in range(1, error.peers + 1)]
        error.put(made, peers[0], rng)
        spoilt.append(made)
        others += peers
    flagged = _flagged([*spoilt, *others])
    named = {each.tag for each in spoilt}
    by_any = named & set().union(*flagged.values())
    return Caught(error, records, len(named & (flagged[error.rule] | flagged[OPEN])), len(by_any))


def _peer(number: int, error: Error) -> TypedTag:
    return typed_tag(number, Random(number), replace(error.wanted or Wanted(), shape=None))


def _flagged(tags: list[TypedTag]) -> dict[str, set[str]]:
    """The tags that each rule asks about, and those with a value that no instrument shows, which is open."""
    with TemporaryDirectory() as folder:
        unit = read_tags(Path(folder), tags)
    seen = see(unit.tables, unit.tags, unit.instruments)
    asked = {rule: {each.tag for each in find(seen)} for rule, find in RULES.items()}
    return {**asked, OPEN: {each.tag for each in unit.problems if each.status in ("open", "blank")}}
