"""Lines of menus that sell a drink with modifiers: the drink has to have them as long as they are named."""

import json
from collections.abc import Iterable

from sqlalchemy import Connection, select

from service.errors import InputFault, InputFaults, InUse
from service.store.held import Held
from service.store.kinds import Body
from service.store.standing import Stretch, holding, stretches
from service.store.tables import USES


def check_modifiers(connection: Connection, menu: Body, today: str) -> None:
    """Refuses what no drink of the menu has as a modifier today or later. Raises :class:`InputFaults`."""
    faults = []
    for number, entry in enumerate(menu.get("entries", ())):
        if not entry.get("with"):
            continue
        known = _modifiers_of(_standing(connection, "drinks", entry["drink"], today))
        faults += [
            InputFault("modifier_unknown", "The drink has no modifier of this id.", f"/entries/{number}/with/{place}")
            for place, one in enumerate(entry["with"])
            if one not in known
        ]
    if faults:
        raise InputFaults(faults)


def refuse_lost(
    connection: Connection, drink: str, before: Iterable[Stretch], after: Iterable[Held], today: str
) -> None:
    """Refuses a drink without a modifier that it had and that menus go on naming. Raises :class:`InUse`."""
    lost = _modifiers_of(one.held for one in before) - _modifiers_of(after)
    if not lost:
        return
    named = select(USES.c.id).where(USES.c.kind == "menus", USES.c.used_kind == "drinks", USES.c.used_id == drink)
    users = [
        ("menus", menu)
        for menu in sorted(connection.execute(named).scalars())
        if any(_names(json.loads(held.text), drink, lost) for held in _standing(connection, "menus", menu, today))
    ]
    if users:
        raise InUse(users, "Menus sell the drink with a modifier that would be gone; take it off them first.")


def _standing(connection: Connection, kind: str, entry_id: str, today: str) -> list[Held]:
    return [stretch.held for stretch in stretches(holding(connection, kind, entry_id), today)]


def _modifiers_of(rows: Iterable[Held]) -> set[str]:
    return {modifier["id"] for held in rows for modifier in json.loads(held.text).get("modifiers", ())}


def _names(menu: Body, drink: str, lost: set[str]) -> bool:
    return any(entry["drink"] == drink and lost & set(entry.get("with", ())) for entry in menu.get("entries", ()))
