"""Words of strength, such as alcohol-free: which may be used, judged on the upper end, refused with the figure."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from types import MappingProxyType

from service import strengthwords
from service.evaluate import Evaluation
from service.item import Item
from service.line import ResolvedLine
from service.mixture import Substance
from service.report.figures import Json
from service.report.wording import Wording
from service.rulekinds import Claim
from service.rules import Rules
from service.substance import NO_ALCOHOL_BY_KIND

DOUBTFUL_KINDS = frozenset(("mixer", "syrup", "juice", "dairy", "spice", "acid", "fruit", "additive", "egg", "nut"))
"""Kinds that hold no alcohol as a rule and now and then do: kombucha, kefir, extracts, vinegars, fruit and nuts kept in
spirits, flavourings, egg liqueur."""


def claim_rows(evaluation: Evaluation, rules: Sequence[Rules], wording: Wording) -> list[Json]:
    """Every word of strength of each jurisdiction, allowed or refused with the figure or the reason."""
    own, most = evaluation.alcohol.abv_upper_percent, upper_percent(evaluation)
    kind, doubts = only_kind(evaluation), _doubts(evaluation)
    rows = []
    for regime in rules:
        for claim in regime.claims:
            # One that the strength itself refuses is refused with that; the band decides on the others.
            upper = most if most != own and strengthwords.claim_row(claim, own, kind).allowed else own
            row = strengthwords.claim_row(claim, upper, kind, _said(doubts))
            text, marks = wording.marks(partial(_text, claim, upper, kind, doubts, wording))
            rows.append(
                {
                    "jurisdiction": regime.code,
                    "word": row.word,
                    "allowed": row.allowed,
                    "comparator": row.comparator,
                    "limit_percent": float(row.limit),
                    "figure_percent": None if row.figure is None else float(row.figure),
                    "text": row.text if text is None else text,
                    "source": row.source,
                    "standing": row.standing,
                    **marks,
                    **wording.condition(claim.condition),
                }
            )
    return rows


def upper_percent(evaluation: Evaluation) -> float | None:
    """The upper end that words are judged on: of the alternatives, and of the band where one was asked for."""
    upper = evaluation.alcohol.abv_upper_percent
    band = None if evaluation.bands is None else evaluation.bands.figures["abv_percent"]
    return upper if upper is None or band is None else upper + (band.high - band.figure)


Doubts = Mapping[str, Sequence[str]]
"""Why a strength of nothing is not certain, with the items that are the reason."""

_DOUBTS = MappingProxyType(
    {
        "taken": "the strength of {items} is taken as 0 % vol, not stated",
        "beside": "{items} brings alcohol that the strength of the liquid does not count",
    }
)


_PATTERNS = (
    "figure", "under", "at_most", "not_known", "allowed", "refused", "unknown", "kept", "doubtful", "convention",
)  # fmt: skip


def _said(doubts: Doubts) -> list[str]:
    return [_DOUBTS[why].format(items=", ".join(items)) for why, items in doubts.items()]


def _text(claim: Claim, upper: float | None, kind: str | None, doubts: Doubts, wording: Wording) -> str | None:
    """The judgement in the language asked for; ``None`` in English, in which it is judged."""
    if wording.english:
        return strengthwords.claim_row(claim, upper, kind, _said(doubts)).text if wording.marked else None
    patterns = {key: wording.language.text(f"claim.{key}").text for key in _PATTERNS}

    def of_kind(kind: str) -> str:
        key = f"claim.kind_{kind}"
        return (
            wording.word(key) if key in wording.language.english else wording.untranslated(strengthwords.kind_of(kind))
        )

    words = strengthwords.ClaimWords(**patterns, number=wording.language.number, kind=of_kind, more=wording.sentence)
    reasons = [wording.say(f"claim.{why}", items=", ".join(items)) for why, items in doubts.items()]
    wording.word("claim.figure")  # so that the language of the sentence is known, whichever pattern it takes
    return strengthwords.claim_row(claim, upper, kind, reasons, words).text


def _doubts(evaluation: Evaluation) -> Doubts:
    """What makes a strength of nothing uncertain: one taken and not stated, alcohol beside the liquid's own."""
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
    found = {"taken": tuple(taken), "beside": tuple(beside)}
    return {why: items for why, items in found.items() if items}


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
