"""What every page shares: templates that escape all they are given, one stylesheet, and what a browser may do with it.

A page has no script, and the policy that goes with it lets none run. ``null`` is printed as the words for "not known"
wherever a template prints it, so that no output can show it as a blank or as zero.
"""

import base64
import hashlib
import re
from functools import cache
from pathlib import Path
from typing import Any

import jinja2
from jinja2.runtime import Context
from markupsafe import Markup

from service.renderers.phrases import ENGLISH, Foreign, Phrases

TEMPLATES = Path(__file__).parent / "templates"

STYLE = (TEMPLATES / "page.css").read_text(encoding="utf-8")
"""The one stylesheet, printed into each page."""

SVG_STYLE = "@media screen{svg.panel{width:100%;max-width:30rem;height:auto}}"
"""That of a drawing by itself: as wide as the screen lets it be; in print the size that the drawing states."""

_HASHES = " ".join(
    f"'sha256-{base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()}'" for style in (STYLE, SVG_STYLE)
)

POLICY = "; ".join(
    (
        "default-src 'none'",
        f"style-src {_HASHES}",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
"""Content-Security-Policy of every page and drawing: the two stylesheets above and nothing else."""

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 has no place for, section 2.2."""


@jinja2.pass_context
def _printed(context: Context, value: object) -> object:
    """What a template prints of a value; on a page, words of another language say which."""
    if value is None:
        return context["words"]["not_known"]
    if isinstance(value, Foreign) and str(context.name).endswith(".html"):
        return _span(value)
    if isinstance(value, Mixed):
        return value.markup()
    return value if isinstance(value, Markup) else legible(value)


def _span(value: object) -> Markup:
    """A text of a page; one in another language says which."""
    if isinstance(value, Foreign):
        return Markup('<span lang="{}">{}</span>').format(value.lang, legible(value))
    return Markup("{}").format(legible(value))


class Mixed:
    """A sentence of a page with texts in it that may be in another language than the sentence."""

    def __init__(self, pattern: str, **texts: str) -> None:
        self._pattern, self._texts = pattern, texts

    def markup(self) -> Markup:
        """The sentence with each text in its own language."""
        texts = {name: _span(text) for name, text in self._texts.items()}
        return _span(self._pattern).format(**texts)

    def __str__(self) -> str:
        return self._pattern.format(**self._texts)


def legible(value: object) -> str:
    """A value as text that any XML reader takes; a character that none takes becomes a replacement character."""
    return _NOT_XML.sub("\ufffd", str(value))


@cache
def _environment() -> jinja2.Environment:
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_printed,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters["flat"] = legible  # within an attribute, where no element can stand
    made.globals["svg_style"] = Markup(SVG_STYLE)  # noqa: S704  # so is this
    made.globals["style"] = Markup(STYLE)  # noqa: S704  # our own file; nothing of a caller is in it
    return made


def rendered(template: str, words: Phrases = ENGLISH, **values: Any) -> str:
    """A template with its values; whatever it lacks raises :class:`jinja2.UndefinedError`."""
    return _environment().get_template(template).render(words=words, **values)


def drawn(template: str, words: Phrases = ENGLISH, **values: Any) -> Markup:
    """As :func:`rendered`, for a part that stands inside a page."""
    return Markup(rendered(template, words, **values))  # noqa: S704  # a template has escaped all it was given
