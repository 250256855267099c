"""What one record, or two of the same machine, say against themselves."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator

from evener.schema import units
from evener.schema.records import Family, Implement
from evener.scoring.audit.flags import EngineGivenAsPto, Flag, TwoRatings

# Two ratings this close are one rating rounded twice; from here on one of them is wrong.
ROUNDED_TWICE, APART = 1.01, 1.05
SURE = 0.95
SHOWN_BY_RECORD = 0.9
SIZE = re.compile(r"\d[\d.,/ x-]*\s*([a-z]+)", re.IGNORECASE)
SAYS_ENGINE = re.compile(r"\b(engine|flywheel|gross)\s+(power|horsepower|hp|kw|rating)\b", re.IGNORECASE)


def same_machine(records: Iterable[Implement], families: Iterable[Family]) -> Iterator[Flag]:
    """Yield a flag for every record whose machine stands in another record with another rating.

    The same machine is the same family, label, note of size, build, attachment, sizes and mass; two owners' copies
    count. A label that says no more than the kind and the size, such as "disc mower, 8 ft", names no machine.

    Parameters
    ----------
    records : rated records of one or more families
    families : the families, with the words that name them
    """
    kinds = {one.family: _words(one.family.replace("_", " "), one.label, *one.names) for one in families}
    machines: dict[tuple[object, ...], list[Implement]] = defaultdict(list)
    for record in records:
        if record.rated_pto_power_kw is not None and _names_it(record.label, kinds.get(record.family, frozenset())):
            machines[_machine(record)].append(record)
    for copies in machines.values():
        for record in copies:
            rated = record.rated_pto_power_kw or 0.0
            others = tuple(
                (other.implement_id, other.rated_pto_power_kw or 0.0)
                for other in copies
                if _ratio(rated, other.rated_pto_power_kw or 0.0) > ROUNDED_TWICE and _may_weigh_alike(record, other)
            )
            if others:
                furthest = max(_ratio(rated, power) for _, power in others)
                strength = SURE * min((furthest - 1) / (APART - 1), 1.0)
                yield TwoRatings(record.implement_id, strength, rated, others)


def engine_stated(records: Iterable[Implement]) -> Iterator[Flag]:
    """Yield a flag for every record that itself shows its PTO rating to be engine power.

    Parameters
    ----------
    records : rated records
    """
    for record in records:
        rated, tractor = record.rated_pto_power_kw, record.rated_tractor_power_kw
        if rated is None:
            continue
        words = " ".join(filter(None, (record.label, record.size_note, record.note)))
        says = SAYS_ENGINE.search(words)
        if tractor is not None and rated >= tractor * (2 - ROUNDED_TWICE):
            reason = "the record gives the whole tractor no more; engine power is always more than PTO power"
            yield EngineGivenAsPto(record.implement_id, SHOWN_BY_RECORD, rated, reason)
        elif says is not None:
            reason = f'the record speaks of "{says[0]}"'
            yield EngineGivenAsPto(record.implement_id, SHOWN_BY_RECORD, rated, reason)


def _names_it(label: str, kind: frozenset[str]) -> bool:
    """Tell whether a label says more than a kind of machine and a size."""
    without_sizes = SIZE.sub(lambda size: "" if units.known(size[1]) else size[0], label)
    return any(word.removesuffix("s") not in kind for word in _words(without_sizes) - kind)


def _words(*texts: str) -> frozenset[str]:
    return frozenset(word for text in texts for word in re.findall(r"[^\W_]+", text.casefold()))


def _may_weigh_alike(one: Implement, other: Implement) -> bool:
    return one.mass_kg is None or other.mass_kg is None or _ratio(one.mass_kg, other.mass_kg) <= ROUNDED_TWICE


def _machine(record: Implement) -> tuple[object, ...]:
    sizes = (
        record.working_width_m,
        record.max_stem_m,
        record.bale_width_m,
        record.bale_diameter_m,
        record.bale_height_m,
        record.auger_diameter_m,
        record.tank_l,
        record.payload_kg,
    )
    rounded = tuple(None if size is None else float(f"{size:.3g}") for size in sizes)
    words = tuple(" ".join((text or "").casefold().split()) for text in (record.label, record.size_note, record.duty))
    return (record.family, record.attachment, *words, *rounded)


def _ratio(one: float, other: float) -> float:
    return max(one, other) / min(one, other)
