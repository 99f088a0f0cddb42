"""What a bar measured, as the contract writes it."""

from service.measured import Reconciliation, Row
from service.report.figures import Json, shown


def measured_section(found: Reconciliation) -> Json:
    """Each figure measured beside the model's, and whether it was used."""
    return {"used": found.used, "rows": [_row(row) for row in found.rows]}


def _row(row: Row) -> Json:
    difference = None if row.model is None else row.measured - row.model
    return {
        "quantity": row.quantity,
        "measured": shown(row.measured),
        "model": shown(row.model),
        "difference": shown(difference),
        "unit": row.unit,
        "note": row.note,
        "source": row.source,
    }
