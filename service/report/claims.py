"""Words of strength, such as alcohol-free: which may be used, judged on the upper end, refused with the figure."""

from collections.abc import Iterable, Iterator, Sequence

from service import strengthwords
from service.evaluate import Evaluation
from service.item import Item
from service.line import ResolvedLine
from service.mixture import Substance
from service.report.figures import Json
from service.rules import Rules
from service.substance import NO_ALCOHOL_BY_KIND

DOUBTFUL_KINDS = frozenset(("mixer", "syrup", "juice", "dairy", "spice", "acid", "fruit", "additive", "egg", "nut"))
"""Kinds that hold no alcohol as a rule and now and then do: kombucha, kefir, extracts, vinegars, fruit and nuts kept in
spirits, flavourings, egg liqueur."""


def claim_rows(evaluation: Evaluation, rules: Sequence[Rules]) -> list[Json]:
    """Every word of strength of each jurisdiction, allowed or refused with the figure or the reason."""
    upper, kind, doubts = evaluation.alcohol.abv_upper_percent, only_kind(evaluation), _doubts(evaluation)
    return [
        {
            "jurisdiction": regime.code,
            "word": row.word,
            "allowed": row.allowed,
            "comparator": row.comparator,
            "limit_percent": float(row.limit),
            "figure_percent": None if row.figure is None else float(row.figure),
            "text": row.text,
            "source": row.source,
            "standing": row.standing,
        }
        for regime in rules
        for row in strengthwords.claims(regime, upper, kind, doubts)
    ]


def _doubts(evaluation: Evaluation) -> tuple[str, ...]:
    """Why a strength of nothing is not certain: one that was taken and not stated, alcohol beside the liquid's own."""
    taken: dict[str, None] = {}
    beside: dict[str, None] = {}
    for line in evaluation.lines:
        held = (line.substance, *line.alternatives)
        if line.role in ("rinse", "garnish"):
            beside |= dict.fromkeys(made.id for made in held if _may_hold_alcohol(made))
        if line.role in ("pour", "top", "rinse") or line.eaten:
            taken |= dict.fromkeys(_taken_as_none(held))
    for rows in evaluation.resolved.preparation_lines.values():
        strained_out = [made for row in rows if row.strained_out for made in (row.substance, *row.alternatives)]
        beside |= dict.fromkeys(made.id for made in strained_out if _may_hold_alcohol(made))
    doubts = []
    if taken:
        doubts.append(f"the strength of {', '.join(taken)} is taken as 0 % vol, not stated")
    if beside:
        doubts.append(f"{', '.join(beside)} brings alcohol that the strength of the liquid does not count")
    return tuple(doubts)


def _may_hold_alcohol(made: Substance) -> bool:
    unknown = any(name == "abv_percent" for _, name in made.unknown)
    return unknown or made.contents.get("ethanol", 0.0) > 0


def _taken_as_none(poured: Iterable[Substance]) -> Iterator[str]:
    """Ids of the caller's and the catalogue's items whose strength is 0 by their kind alone."""
    for made in poured:
        for assumption in made.assumptions:
            if assumption.code != NO_ALCOHOL_BY_KIND or assumption.item is None:
                continue
            leaf = made.leaves.get(assumption.item)
            # Of a joint product there is no leaf but those of the whole, which may have held anything.
            if leaf is None or (leaf.item.origin != "reference" and leaf.item.kind in DOUBTFUL_KINDS):
                yield assumption.item


def only_kind(evaluation: Evaluation) -> str | None:
    """The kind of product where the whole drink is one, such as a glass of wine; ``None`` for a mixed drink."""
    line = _only_line(evaluation)
    return None if line is None else line.substance.kind


def only_item(evaluation: Evaluation) -> Item | None:
    """The bought item that the whole drink is, undiluted; ``None`` for a mixed drink and for a house-made part."""
    line = _only_line(evaluation)
    return None if line is None else evaluation.resolved.items.get(line.ref)


def _only_line(evaluation: Evaluation) -> ResolvedLine | None:
    poured = [line for line in evaluation.lines if line.role in ("pour", "top", "rinse")]
    if len(poured) != 1 or poured[0].alternatives or evaluation.build.dilution.water_ml != 0:
        return None
    return poured[0]
