"""Printing through CUPS: hands a file to `lp`, for the queues that the settings name and the computer knows."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from dataclasses import dataclass

from inventory.domain.common.errors import Conflict, Invalid

ALL_QUEUES = "all"
SUBMIT_TIMEOUT = 20  # lp only hands over; a spooler that takes longer does not answer
LIST_TIMEOUT = 3
LIST_CACHE_SECONDS = 30  # for which a list of queues is taken as read

_queue_cache: dict[tuple[str, str], tuple[float, tuple[str, ...] | None]] = {}


@dataclass(frozen=True)
class PrintRequest:
    """A file that a queue has taken. ``request`` is what CUPS calls it; empty when it did not say."""

    printer: str
    request: str


def queues(setting: str) -> tuple[str, ...]:
    """Return the queues to print to: those that *setting* names (with commas between, or "all") and CUPS knows.

    None where the setting is empty or the computer has no `lp`. Where `lpstat` cannot be asked, those named.
    """
    named = tuple(dict.fromkeys(name.strip() for name in setting.split(",") if _is_queue_name(name.strip())))
    if not named or shutil.which("lp") is None:
        return ()
    known = _cups_queues()
    if known is None:
        return tuple(name for name in named if name != ALL_QUEUES)
    return known if ALL_QUEUES in named else tuple(name for name in named if name in known)


def check_queue(printer: str, setting: str) -> None:
    """Raise Invalid for a queue that is not among those to print to."""
    if printer not in queues(setting):
        sentence = "That printer is not here: choose one from the list, or open the PDF and print that."
        raise Invalid(sentence, errors={"printer": [sentence]})


def submit_print(printer: str, document: bytes, *, title: str, page_mm: tuple[float, float]) -> PrintRequest:
    """Hand a PDF to a queue (checked by check_queue), at its true size on paper of that many mm.

    Raises Conflict, which says why, when `lp` does not take it.
    """
    output = _run_or_refuse(
        ["lp", "-d", printer, "-t", title, *_lp_options(page_mm), "-"], document, SUBMIT_TIMEOUT, printer
    )
    request = output.partition(b"(")[0].split()  # "request id is bench-12 (1 file(s))"
    return PrintRequest(printer, request[-1].decode(errors="replace")[:200] if request else "")


def _lp_options(page_mm: tuple[float, float]) -> list[str]:
    """Say the paper, and that nothing may be scaled or turned over (CUPS, command-line printing and options)."""
    named = {(210.0, 297.0): "A4", (215.9, 279.4): "Letter"}.get(page_mm)
    paper = named or f"Custom.{page_mm[0]:g}x{page_mm[1]:g}mm"
    options = (f"media={paper}", "print-scaling=none", "sides=one-sided")
    return [argument for option in options for argument in ("-o", option)]


def _run_or_refuse(command: list[str], document: bytes, seconds: float, printer: str) -> bytes:
    """Run a program and return what it says; raise Conflict, in a sentence, when it fails."""
    try:
        done = _run_program(command, document, seconds)
    except subprocess.TimeoutExpired:
        raise _not_printed(f"{printer} did not answer within {seconds:g} seconds") from None
    except OSError as error:
        raise _not_printed(f"{command[0]} could not be started ({error.strerror})") from None
    if done.returncode:
        message = " ".join(done.stderr.decode(errors="replace").split())[:200].rstrip(".")
        raise _not_printed(f"{printer} did not take the labels: {message or 'lp does not say why'}")
    return done.stdout


def _run_program(command: list[str], document: bytes, seconds: float) -> subprocess.CompletedProcess[bytes]:
    """Run a program without a shell, in plain English, so that what it says can be read here."""
    plain = {**os.environ, "LC_ALL": "C"}
    return subprocess.run(command, input=document, capture_output=True, timeout=seconds, check=False, env=plain)


def _cups_queues() -> tuple[str, ...] | None:
    """Ask CUPS for its queues, at most every LIST_CACHE_SECONDS; None when it cannot be asked."""
    lpstat = shutil.which("lpstat") or ""
    where = (lpstat, os.environ.get("CUPS_SERVER", ""))
    if where not in _queue_cache or time.monotonic() - _queue_cache[where][0] > LIST_CACHE_SECONDS:
        _queue_cache[where] = (time.monotonic(), _list_queues(lpstat) if lpstat else None)
    return _queue_cache[where][1]


def _list_queues(lpstat: str) -> tuple[str, ...] | None:
    try:
        done = _run_program([lpstat, "-e"], b"", LIST_TIMEOUT)
    except (OSError, subprocess.TimeoutExpired):
        return None
    names = done.stdout.decode(errors="replace").split()
    return None if done.returncode else tuple(name for name in names if _is_queue_name(name))


def _is_queue_name(text: str) -> bool:
    """Tell whether a text can name a queue (CUPS: no space, no / and no #) and is no option of a program."""
    return 0 < len(text) <= 127 and text.isprintable() and text[0] != "-" and not set(text) & set(" /#")


def _not_printed(sentence: str) -> Conflict:
    return Conflict(f"{sentence}. Look at the printer, or open the PDF and print that.", reason="not_printed")
