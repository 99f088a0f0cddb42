"""Starts served processes by a fork of one that has everything imported, so that many rounds take little time.

Reads one line a start on standard input: the settings, and the file for standard error, as JSON; answers with the
process id. Each start is the leader of its own process group and runs what ``python -m service serve`` runs.
"""

import gc
import json
import os
import signal
import sys

from service.reference import reference
from service.rules import rules
from service.serving import serve
from service.settings import Settings


def main() -> None:
    """Starts what is asked for until standard input ends."""
    reference()
    rules()
    gc.freeze()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    print("ready", flush=True)
    for line in sys.stdin:
        asked = json.loads(line)
        pid = os.fork()
        if pid:
            print(pid, flush=True)
            continue
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.setsid()
        log = os.open(asked["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(log, 2)
        os.dup2(log, 1)
        os.environ.update(asked["settings"])
        code = 1
        try:
            serve(Settings())
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 1
        finally:
            os.write(2, f"exit code {code}\n".encode())
            os._exit(code)


main()
