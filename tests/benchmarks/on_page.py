"""PAGE: from a changed line to its answer on the page, against the API's own time for the same question."""

import itertools
import tempfile
from collections.abc import Callable

from tests.api.served import served
from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns
from tests.browsing import Browser, browsing

LINES = (
    "50 ml aged rum 46",
    "20 ml lime juice",
    "15 ml rich demerara",
    "2 dashes aromatic bitters",
    "1 wheel lime, garnish",
)

_SCRIPT = """
const [kind, amount] = arguments; const done = arguments[arguments.length - 1];
const answer = document.querySelector("#answer"); const line = document.querySelector("#lines input");
if (kind === "page") {
  const seen = new MutationObserver(() => { seen.disconnect(); done(performance.now() - begun); });
  seen.observe(answer, { childList: true });
  var begun = performance.now();
  line.value = `${amount} ml aged rum 46`;
  line.dispatchEvent(new Event("input", { bubbles: true }));
} else {
  const body = window.__body.replace(/"amount":"[^"]*"/, `"amount":"${amount} ml"`);
  const begun = performance.now();
  fetch("v1/evaluate", { method: "POST", body, headers: { "Content-Type": "application/json" } })
    .then((given) => given.text()).then(() => done(performance.now() - begun));
}
"""
_BODY = """
const asked = window.fetch;
window.fetch = (...request) => {
  if (String(request[0]).endsWith("/v1/evaluate")) window.__body = request[1].body;
  return asked(...request);
};
"""


def _round(window: Browser, kind: str, calls: int, amounts: "itertools.count[int]") -> Callable[[], float]:
    """Seconds for one of ``calls`` answers; no question is asked twice, since answers are kept."""

    def one_round() -> float:
        whole = 0.0
        for _ in range(calls):
            window.run("return new Promise((done) => setTimeout(done, 200))")  # a pause, as between two thoughts
            whole += float(window.driver.execute_async_script(_SCRIPT, kind, f"{next(amounts) / 100:.2f}"))
        return whole / calls / 1e3

    return one_round


def result(size: Size) -> Result:
    """PAGE."""
    calls = max(1, size.calls // 10)
    amounts = itertools.count(4000)
    with (
        tempfile.TemporaryDirectory() as folder,
        served(demo="1", database_url=f"sqlite:///{folder}/bar.db") as service,
        browsing(f"http://127.0.0.1:{service.port}") as window,
    ):
        window.open()
        window.write(*LINES)
        window.answered("% vol")
        window.run(_BODY)
        window.at("#glass").send_keys("200")
        window.answered("of the brim")
        sides = {kind: _round(window, kind, calls, amounts) for kind in ("page", "api")}
        for warm in sides.values():
            warm()
        found = in_turns(sides, size.rounds)
    return Result(
        "PAGE",
        "The answer on the page, five lines with bands, the demo on, in a headless browser on the loopback",
        (
            "over:  from the event of a changed line to the answer in the document, after a pause in writing",
            "under: the same question sent by the browser itself, until its answer is read as text",
        ),
        (Figure("changed line to answer", Side("the page", found["page"], "ms", 1e3),
                Side("the API", found["api"], "ms", 1e3), 1.5, 1.3),),
    )  # fmt: skip
