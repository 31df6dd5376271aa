"""Starting a child process that Ctrl-C in the terminal does not reach."""

from __future__ import annotations

import signal
import threading
from multiprocessing.process import BaseProcess


def started(process: BaseProcess) -> None:
    """Start a process that is ended by its parent alone.

    A terminal sends Ctrl-C to every process of the command; what is ignored at the start stays
    ignored in the child, so that it can neither die half-way nor print a traceback.
    """
    if threading.current_thread() is not threading.main_thread():
        process.start()  # only the main thread may change how a signal is handled
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        process.start()
    finally:
        signal.signal(signal.SIGINT, before)
