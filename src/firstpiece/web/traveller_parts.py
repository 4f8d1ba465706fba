"""How each section of a traveller stands: one line, whether it lies open, whether it waits.

A section is quiet once it is done and opens when it matters. Input: the plain values of a run.
Output: a ``Part`` by the section's name. No clock, no files.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from gettext import gettext as _
from gettext import ngettext
from typing import TYPE_CHECKING

from firstpiece.web.words import with_unit

if TYPE_CHECKING:
    from firstpiece.web.job_folder import Object


@dataclass(frozen=True, slots=True)
class Part:
    """One section: the line that stands for it, whether it lies open, whether it waits."""

    line: str
    is_open: bool = False
    waits: bool = False


def describe_parts(result: Object | None, *, n_others: int = 0) -> dict[str, Part]:
    """Return the sections of a run by name; one that is not done has its log only."""
    if result is None:
        return {"log": _log(0, n_others)}
    return {
        "ask": _ask(result),
        "picture": _picture(result),
        "areas": _areas(result),
        "price": _price(result),
        "agree": _agree(result),
        "supplies": _supplies(result),
        "setup": _setup(result),
        "sew": _sew(result),
        "log": _log(len(result["files"]), n_others),
    }


def _ask(result: Object) -> Part:
    n = len(result["questions"])
    if not n:
        return Part(_("Nothing is left to ask."))
    line = ngettext(
        "{n} question to the customer is open", "{n} questions to the customer are open", n
    ).format(n=n)
    return Part(line, is_open=True, waits=True)


def _picture(result: Object) -> Part:
    n = len(result["plan"]["threads"])
    threads = ngettext("{n} thread", "{n} threads", n).format(n=n)
    size = _("{w:.0f} × {h:.0f} mm").format(w=result["width_mm"], h=result["height_mm"])
    return Part(_("As it came and as it was cleaned: {size}, {threads}").format(
        size=size, threads=threads
    ))  # fmt: skip


def _areas(result: Object) -> Part:
    ways = Counter(t["stitch_type"] for t in result["plan"]["treatments"])
    words = (
        (ways["fill"], _("{n} filled")),
        (ways["satin"], _("{n} in satin")),
        (ways["running"], _("{n} as lines")),
    )
    told = ", ".join(text.format(n=n) for n, text in words if n)
    n = sum(ways.values())
    areas = ngettext("{n} area", "{n} areas", n).format(n=n)
    return Part(f"{areas}: {told}" if told else areas)


def _price(result: Object) -> Part:
    return Part(
        ngettext("For {n} piece", "For {n} pieces", result["quote"]["quantity"]).format(
            n=result["quote"]["quantity"]
        ),
        is_open=True,
    )


def _agree(result: Object) -> Part:
    if result["blocks_sewing"]:
        return Part(_("Not yet: a finding says that it must not be sewn as it is"))
    if result["questions"]:
        return Part(_("Not yet: the customer’s answers come first"))
    return Part(_("The customer’s yes is waited for"), is_open=True, waits=True)


def _supplies(result: Object) -> Part:
    metres = sum(u["top"]["p50"] for u in result["forecast"]["thread_use"])
    bobbin = result["forecast"]["bobbin"]["p50"]
    n = len(result["plan"]["threads"])
    line = ngettext(
        "{top} of {n} thread and {bobbin} from the bobbin for a piece",
        "{top} of {n} threads and {bobbin} from the bobbin for a piece", n,
    ).format(top=with_unit(metres, "m"), bobbin=with_unit(bobbin, "m"), n=n)  # fmt: skip
    return Part(line)


def _setup(result: Object) -> Part:
    setup = result["setup"]
    if not setup["hoop"]:
        line = _("No hoop of this garment clears the design")
        return Part(line, is_open=True, waits=True)
    return Part(_("{hoop} hoop, needle {needle}, {backing} underneath").format(
        hoop=setup["hoop"], needle=setup["needle"], backing=setup["backing"]
    ))  # fmt: skip


def _sew(result: Object) -> Part:
    minutes = with_unit(result["forecast"]["sewing_minutes"]["p50"], "min")
    return Part(_("{minutes} under the needle for a piece").format(minutes=minutes))


def _log(n_files: int, n_others: int) -> Part:
    files = ngettext("{n} file", "{n} files", n_files).format(n=n_files)
    tried = ngettext("{n} other way tried", "{n} other ways tried", n_others).format(n=n_others)
    told = [words for n, words in ((n_files, files), (n_others, tried)) if n]
    return Part(", ".join(told))
