"""What a label and a menu have to say of one drink, for a terminal: what the pack states, and duties that may apply."""

from typing import Any

from service.renderers.textrows import Names, paragraph, shown, titled


def pack_rows(answer: dict[str, Any], _: Names) -> list[str]:
    """What the pack states, and what keeps its label from being ready."""
    pack = answer.get("pack")
    if pack is None:
        return []
    rows = ["Pack"]
    for name in ("net_ml", "lot", "made_on", "use_by", "storage", "responsible"):
        rows.append(titled(name.replace("_", " "), shown(pack[name])))
    for row in pack["panels"]:
        lacking = ", ".join(row["missing"]).replace("_", " ")
        rows.append(titled(f"label, {row['jurisdiction']}", "ready" if row["ready"] else f"not ready: {lacking}"))
    for held in pack["contents"]:
        for row in held["printed"]:
            name = f"{row['what'].replace('_', ' ')}, {held['jurisdiction']}"
            rows.append(titled(name, row["text"] or "not known"))
    for span in pack["fill_within"]:
        rows.append(titled(f"fill, {span['jurisdiction']}", f"{span['low_ml']} to {span['high_ml']} ml"))
    return rows


def name_rows(answer: dict[str, Any], _: Names) -> list[str]:
    """What keeps the drink and its parts from the legal names that they state."""
    rows = (answer.get("alcohol") or {}).get("legal_names") or ()
    return [paragraph(f"{row['jurisdiction']}, “{row['legal_name']}”: {row['text']}") for row in rows]


def duty_rows(answer: dict[str, Any], _: Names) -> list[str]:
    """What menus and labels may have to say, each with who decides; a proposal says that it is one."""
    rows = []
    for row in answer.get("duties") or ():
        when = {"applies": "may apply", "proposal": "proposal, not applied"}.get(row["applies"], row["applies"])
        said = row["asks"] if row["statement"] is None else f'"{row["statement"]}"'
        rows.append(
            paragraph(f"{row['jurisdiction']}, {when}: {row['title']}. {said} ({row['article']}, {row['standing']})")
        )
        rows += [paragraph(f"  declares {row['declaration']}")] if row["declaration"] else []
        rows += [paragraph(f"  {row['refused']}")] if row["refused"] else []
    defer = dict.fromkeys(row["defer"] for row in answer.get("duties") or ())
    return ["Duties that may apply", *rows, *(paragraph(text) for text in defer)] if rows else []
