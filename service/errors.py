"""The one exception tree of the service.

    WashlineError
    ├── InputFault            something the caller sent cannot be worked with (code, detail, pointer)
    │   └── InputFaults       several of them at once
    ├── OutOfRange            a formula was asked outside its range of validity
    ├── DataFault             a file in service/data is not what the loader expects
    ├── StoreFault            the store cannot be used as it is set up; the start stops
    ├── StoreBusy             the store cannot take a request now; it may be tried again
    ├── StoreFull             the store has no space left
    ├── NotFound              nothing of that kind has that id
    ├── Conflict              what is asked does not fit what is stored (code, detail)
    │   └── InUse             something is deleted that others name
    └── Stale                 the caller's version is not the current one

Domain errors know no status code; ``service/api/problems.py`` maps them.
"""

from collections.abc import Sequence


class WashlineError(Exception):
    """Root of everything this service raises on purpose."""


class InputFault(WashlineError):
    """One fault in what the caller sent.

    ``code`` is stable and machine-readable, ``detail`` says what was expected and what to do next without
    repeating the caller's value, ``pointer`` is an RFC 6901 JSON Pointer into the request body. A function that
    does not know where its input stands raises with an empty pointer; its caller sets it with :meth:`at`.
    """

    def __init__(self, code: str, detail: str, pointer: str = "") -> None:
        super().__init__(f"{code} at '{pointer}': {detail}")
        self.code = code
        self.detail = detail
        self.pointer = pointer

    def at(self, pointer: str) -> "InputFault":
        """The same fault with its place: ``pointer`` is put in front of what the fault already carries."""
        return InputFault(self.code, self.detail, pointer + self.pointer)


class InputFaults(WashlineError):
    """Several faults found in one reading of the input."""

    def __init__(self, faults: Sequence[InputFault]) -> None:
        super().__init__("; ".join(str(fault) for fault in faults))
        self.faults = tuple(faults)


class OutOfRange(WashlineError):
    """A formula was asked for a value outside the range in which its source supports it."""

    def __init__(self, name: str, value: float, low: float, high: float, source: str) -> None:
        super().__init__(f"{name} must lie between {low:g} and {high:g} ({source}).")
        self.name = name
        self.value = value
        self.low = low
        self.high = high
        self.source = source


class DataFault(WashlineError):
    """A data file of the service is malformed; the message names file, entry and key."""


class StoreFault(WashlineError):
    """The store cannot be used as it is set up; the message says what to change."""


class StoreBusy(WashlineError):
    """The store cannot take this request now; the same request may be sent again."""


class StoreFull(WashlineError):
    """The store has no space left; nothing was changed."""


class NotFound(WashlineError):
    """Nothing of that kind has that id, or the caller may not know of it: both look the same.

    ``detail`` says what is not there, empty where that is the whole address.
    """

    def __init__(self, detail: str = "") -> None:
        super().__init__(detail)
        self.detail = detail


class Conflict(WashlineError):
    """What is asked does not fit what is stored: ``code`` is stable, ``detail`` says what to do next."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(f"{code}: {detail}")
        self.code = code
        self.detail = detail


class InUse(Conflict):
    """Something is deleted or taken away that others name; ``users`` are their kinds and ids."""

    def __init__(
        self,
        users: Sequence[tuple[str, str]],
        detail: str = "Others name it; take it out of them first, or archive it (POST to its address with /archive).",
    ) -> None:
        super().__init__("in_use", detail)
        self.users = tuple(users)


class Stale(WashlineError):
    """The version that the caller names is not the current one."""
