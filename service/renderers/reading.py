"""What several outputs read out of an answer in the same way: names, the row of one jurisdiction, figures in words."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from service.renderers.phrases import ENGLISH, Foreign, Phrases

Answer = Mapping[str, Any]
Row = Mapping[str, Any]


class Routes(NamedTuple):
    """One allergen with its state in a declaration and the ways it comes in, in words."""

    name: str
    state: str
    ways: tuple[str, ...]


def shown(value: object, words: Phrases, unit: str = "") -> str:
    """A figure as it stands with its unit, or that it is not known."""
    if value is None:
        return words["not_known"]
    text = value if isinstance(value, Foreign) else words.number(value)
    return f"{text} {unit}" if unit else text


def said(row: Row, words: Phrases) -> str:
    """The text of a row in the language it says it is in; else the reason, or that it is unknown."""
    if row["text"]:
        return words.foreign(row["text"], row.get("lang"))
    return in_lang(row, "reason", words) if row.get("reason") else words["not_known"]


def in_lang(row: Row, key: str, words: Phrases) -> str:
    """A text of a row in the language that the row says it is in; in English where it says none."""
    return words.foreign(row[key], row.get("lang" if key == "text" else f"{key}_lang") or ENGLISH.code)


def known(value: object, least: object, words: Phrases, unit: str = "") -> str:
    """A figure, or what of it is known at the least."""
    if value is not None or least is None:
        return shown(value, words, unit)
    told = (words["not_known"], words["at_least"].format(figure=shown(least, words, unit)))
    return words.of("phrase.separator").join(told)


def span(ends: Sequence[object], words: Phrases, unit: str) -> str:
    """A range, of which each end may be unknown."""
    if all(end is None for end in ends):
        return words["not_known"]
    low, high = (shown(end, words) for end in ends)
    return words["from_to"].format(low=low, high=high, unit=unit)


def item_names(answer: Answer) -> dict[str, str]:
    """Names by id, as far as the answer has them."""
    names = {row["id"]: row["name"] for row in answer["preparations"]}
    return (
        names | {row["item"]: row["name"] for row in answer["lines"]} | {answer["drink"]["id"]: answer["drink"]["name"]}
    )


def plain(word: str) -> str:
    """A machine word as one reads it."""
    return word.replace("_", " ")


def row_of(rows: Iterable[Row], jurisdiction: str | None) -> Row | None:
    """The row of one jurisdiction, or the first row where none is asked for; None where there is no such row."""
    return next((row for row in rows if jurisdiction in (None, row["jurisdiction"])), None)


def declaration_of(answer: Answer, jurisdiction: str | None) -> Row | None:
    """The allergens as one jurisdiction declares them; None where the answer has no such declaration."""
    return row_of((answer.get("allergens") or {"declarations": ()})["declarations"], jurisdiction)


def legal_names_of(answer: Answer, jurisdiction: str | None) -> list[str]:
    """The drink's legal name where a rule of the jurisdiction is held and no figure speaks against it; else nothing."""
    rows = [
        row
        for row in (answer.get("alcohol") or {}).get("legal_names", ())
        if row["item"] == answer["drink"]["id"] and row["jurisdiction"] == jurisdiction
    ]
    met = rows and all(row["verdict"] == "meets_figures" for row in rows)
    return list(dict.fromkeys(row["legal_name"] for row in rows)) if met else []


def state_in(
    declaration: Row | None, allergen: str, members: Sequence[str] = (), group: tuple[str, Sequence[str]] | None = None
) -> str:
    """`contains`, `partly`, `may_contain`, `unknown`, `exempt` or `none`; without a declaration all is unknown.

    A group is exempt where one of its ``members`` is. A member that nobody names is unknown where its ``group`` (key
    and members) is, in whole or in part, or where the group is declared and none of its members is named; it is exempt
    where its group is exempt as a whole, of which any member may be the source.
    """
    if declaration is None:
        return "unknown"
    if allergen in declaration["partly_unknown"] and allergen in declaration["contains"]:
        return "partly"
    exempt = {row["allergen"] for row in declaration["exempt"]}
    listed = next((state for state in ("contains", "may_contain", "unknown") if allergen in declaration[state]), None)
    if listed is None and group is not None and _is_open(declaration, *group):
        return "unknown"
    whole = () if group is None else group[:1]
    return listed or ("none" if exempt.isdisjoint((allergen, *members, *whole)) else "exempt")


def _is_open(declaration: Row, group: str, members: Sequence[str]) -> bool:
    """Whether a group leaves it open which of its members are in the drink."""
    if group in declaration["unknown"] or group in declaration["partly_unknown"]:
        return True
    return any(
        group in declaration[state] and not any(member in declaration[state] for member in members)
        for state in ("contains", "may_contain")
    )


def allergen_routes(answer: Answer, declaration: Row, names: Mapping[str, str], words: Phrases) -> list[Routes]:
    """Every allergen of a declaration in its order, with each way it comes in."""
    items = item_names(answer)
    rows = []
    for state in ("contains", "may_contain", "unknown"):
        for key in declaration[state]:
            routes = [row for row in answer["allergens"]["routes"] if row["allergen"] == key]
            ways = dict.fromkeys(_way(row, items, words) for row in routes)
            rows.append(Routes(names.get(key, plain(key)), words[f"cell_{state_in(declaration, key)}"], tuple(ways)))
    return rows


def _way(route: Row, items: Mapping[str, str], words: Phrases) -> str:
    """One route in words: the tool, or the names from the outermost part to the bought item."""
    steps = [items.get(step, plain(step.replace("-", " "))) for step in route["path"][1:]]
    if route["equipment"] is not None:
        text = words["by_equipment"].format(equipment=route["equipment"])
    elif steps:
        text = words["route_from"].format(path=" › ".join(steps))
    else:
        text = words["by_recipe"]
    return f"{text} ({words['state_' + route['state']]})"


def missing_of(rows: Iterable[Row], names: Mapping[str, str], words: Phrases) -> list[str]:
    """What is not known, each once, in English, since what is missing is named as the contract names it."""
    return list(
        dict.fromkeys(words.foreign(f"{plain(row['field'])} of {names.get(row['item'], row['item'])}") for row in rows)
    )


def days_of(days: int, words: Phrases) -> str:
    """A count of days in words."""
    return words["days_one"] if days == 1 else words["days_some"].format(days=days)
