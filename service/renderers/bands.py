"""How sure the strength is, in words: the band of an answer and what makes most of its width."""

from collections.abc import Mapping
from typing import NamedTuple

from service.renderers.phrases import Phrases
from service.renderers.reading import Answer, plain, shown


class Band(NamedTuple):
    """How far the strength may lie from its figure, and what it depends on most."""

    low: float | None
    high: float | None
    unit: str
    driver: str | None = None


def band_of(answer: Answer, names: Mapping[str, str], words: Phrases) -> Band | None:
    """The band of an answer's strength; None where it was not asked for or is not known."""
    row = ((answer.get("alcohol") or {}).get("band") or {}).get("abv_percent")
    if row is None:
        return None
    driver = row["driver"]
    if driver is not None:
        item = names.get(driver["item"], plain(driver["item"].replace("-", " ")))
        driver = words[f"band_input_{driver['input']}"].format(item=item)
    return Band(row["low"], row["high"], words.percent_vol, driver)


def band_text(band: Band | None, words: Phrases) -> str:
    """A band in one line."""
    if band is None or (band.low is None and band.high is None):
        return words["band_unknown"]
    ends = {"low": shown(band.low, words), "high": shown(band.high, words), "unit": band.unit}
    text = words["band_between"].format(**ends)
    if band.driver is None:
        return text
    return f"{text}{words.of('phrase.separator')}{words['band_driver'].format(driver=band.driver)}"
