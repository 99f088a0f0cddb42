"""By what an answer of the desk was made."""

from service.evaluate import Evaluation
from service.report.figures import Json
from service.rules import rules


def meta_of(evaluation: Evaluation) -> Json:
    """The day and the versions behind an answer, and how far to rely on it."""
    return {
        "as_of": evaluation.day.isoformat(),
        "rules_version": rules().version,
        "reference_version": evaluation.reference_version,
        "note": "Not legal advice: local codes and licensed practice decide.",
    }
