"""What was said so far in an interview, section by section, as it will be written."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any


@dataclass
class Draft:
    """A job sheet in the making.

    Attributes
    ----------
    place, policy, prices : keys of those sections
    animals : head by kind
    land : use and area
    tasks, tractors : tables of those sections
    answered : the whole sheet, once something was answered beyond those sections
    """

    place: dict[str, Any] = field(default_factory=dict)
    animals: dict[str, int] = field(default_factory=dict)
    land: list[tuple[str, str]] = field(default_factory=list)
    tasks: list[dict[str, Any]] = field(default_factory=list)
    tractors: list[dict[str, Any]] = field(default_factory=list)
    policy: dict[str, Any] = field(default_factory=dict)
    prices: dict[str, Any] = field(default_factory=dict)
    answered: str = ""

    def text(self) -> str:
        """Return the sheet as TOML."""
        if self.answered:
            return self.answered
        place = _pairs(self.place)
        if self.animals:
            place += f"animals = {{ {', '.join(f'{kind} = {head}' for kind, head in self.animals.items())} }}\n"
        blocks = [f"[place]\n{place}"]
        blocks += [f"[[place.land]]\n{_pairs({'use': use, 'area': area})}" for use, area in self.land]
        blocks += [f"[[task]]\n{_pairs(task)}" for task in self.tasks]
        blocks += [f"[[tractor]]\n{_pairs(tractor)}" for tractor in self.tractors]
        for name, section in (("policy", self.policy), ("prices", self.prices)):
            blocks += [f"[{name}]\n{_pairs(section)}"] if section else []
        return "\n".join(blocks)


def _pairs(values: dict[str, Any]) -> str:
    return "".join(f"{name} = {json.dumps(value, ensure_ascii=False)}\n" for name, value in values.items())
