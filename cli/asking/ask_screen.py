"""The screen of `evener ask`: what is worth asking first, in one screen of eighty columns, and what stays uncertain."""

from __future__ import annotations

import textwrap
from typing import Any

from evener.cli.asking import survey_words

WIDTH, HEIGHT = 80, 24
CLOSING = 7
LISTED = 4


def lines(answer: dict[str, Any], job: str, before: dict[str, Any] | None, given: list[str]) -> list[str]:
    """Return the lines of the screen.

    Parameters
    ----------
    answer : what `ask` says, in the reader's units
    job : the sheet's file, for what to type next
    before : what it said before answers were put in
    given : those answers
    """
    head = _head(answer, before, given)
    put = [one for one in answer["questions"] if one["worth_asking"]]
    tail = _tail(answer, job)
    asked: list[str] = []
    shown = 0
    for number, one in enumerate(put, 1):
        more = _question(number, one)
        if shown and len(head) + len(asked) + len(more) + len(tail) + 1 > HEIGHT:
            break
        asked += more
        shown = number
    if len(put) > shown:
        asked.append(f"{len(put) - shown} more are worth asking, but less: --full")
    if not put:
        asked += _wrapped(survey_words.nothing_left(answer))
    return [*head, *asked, *tail]


def _head(answer: dict[str, Any], before: dict[str, Any] | None, given: list[str]) -> list[str]:
    found = [*_wrapped(f"{answer['place']}: what to ask or measure next")]
    for one in answer["not_sized"]:
        found += _wrapped(f"ASK FIRST: {one['task']}: {one['why']}. {one['remedy']}. Until then there is no pick.")
    if before is not None:
        found += _wrapped(f"answered: {'; '.join(given)}")
        found += _wrapped(f"before: {survey_words.describe(before['so_far'])}")
    name = "so far, without it" if answer["not_sized"] else "so far"
    return [*found, *_wrapped(f"{name}: {survey_words.describe(answer['so_far'])}"), ""]


def _question(number: int, one: dict[str, Any]) -> list[str]:
    """Return one question in three lines or little more: what to ask, what answers lead to, and what is taken now."""
    taken = f"you said {one['now']}" if one["said"] else one["now"].replace("not said", "nobody said", 1)
    return [
        *_wrapped(f"{number}. {one['question']} ({one['how']})", after="   "),
        *_wrapped(f"{survey_words.by_answer(one)}; {survey_words.worth(one)}", before="   "),
        *_wrapped(f"{taken}; --answer {one['id']}=...", before="   "),
    ]


def _tail(answer: dict[str, Any], job: str) -> list[str]:
    """Return what was said and is not worth asking, what was taken, what else to ask, and what nobody can answer."""
    rest = [one for one in answer["questions"] if not one["worth_asking"]]
    said = [one for one in rest if one["said"]]
    found = []
    if said:
        named = "; ".join(f"{survey_words.what(one)} {one['now']}" for one in said[:LISTED])
        more = f"; +{len(said) - LISTED}" if len(said) > LISTED else ""
        found += _cut(f"you said, near enough: {named}{more}", 2)
    if len(rest) > len(said):
        taken = len(rest) - len(said)
        found.append(f"nobody said, usual values taken: {taken} figures; see --full")
    plain = [one for one in answer["reconcile"] if one["family"] is None]
    if plain:
        more = f" +{len(plain) - 1}: evener check" if len(plain) > 1 else ""
        found += _cut(f"ask too: {plain[0]['question']}{more}", 1)
    found += _cut(f"stays uncertain: {survey_words.uncertain(answer)}", 2) if answer["stays_uncertain"] else []
    return ["", *found, *_cut(f"one after the other: evener ask {job} --interactive", 9)]


def _wrapped(text: str, before: str = "", after: str | None = None) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=before, subsequent_indent=before if after is None else after, break_on_hyphens=False
    )


def _cut(text: str, most: int) -> list[str]:
    """Return a text in so many lines at most."""
    found = textwrap.wrap(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
    if len(found) > most:
        found = [*found[: most - 1], f"{found[most - 1][: WIDTH - 3].rstrip()}..."]
    return found
