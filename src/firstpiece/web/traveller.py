"""A run's result in words: what the job waits for, areas as sentences, findings as pins.

Input: the plain values in ``traveller.json``, the run's state and what was asked. Output: values a
template only has to print. No clock, no files.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from gettext import gettext as _
from gettext import ngettext
from itertools import groupby
from typing import TYPE_CHECKING

from firstpiece.model.material import Weave
from firstpiece.web import job_folder as jobs
from firstpiece.web.asking import apply_remedy
from firstpiece.web.job_folder import Asked
from firstpiece.web.words import with_unit

if TYPE_CHECKING:
    from firstpiece.files.material_card import CardDrawer
    from firstpiece.model.job import Job
    from firstpiece.web.job_folder import Object

AREAS_SHOWN = 14


@dataclass(frozen=True, slots=True)
class Waiting:
    """The first line of a job: what it waits for, and the one action that moves it on.

    ``action`` is ``stop``, ``again``, ``link``, ``file``, ``remedy`` or empty; ``target`` is the
    link, the file or the pin of the remedy's finding, whose remedy number is ``choice``.
    """

    sentence: str
    action: str = ""
    label: str = ""
    target: str = ""
    choice: int = 0


@cache
def ordinal(number: int) -> str:
    """Return a place in an order, counted from 1, as it is said."""
    names = (
        *(_("first"), _("second"), _("third"), _("fourth"), _("fifth"), _("sixth")),
        *(_("seventh"), _("eighth"), _("ninth"), _("tenth"), _("eleventh"), _("twelfth")),
    )
    if number <= len(names):
        return names[number - 1]
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if 10 < number % 100 < 14 else ending}"


def describe_waiting(
    state: Object, result: Object | None, asked: Asked, record: Job | None = None
) -> Waiting:
    """Return the first line of a job: what its design waits for, else what its order waits for."""
    status = state["status"]
    if status == jobs.RUNNING:
        return Waiting(_("This job waits for the computer."), "stop", _("Stop"))
    if status == jobs.FAILED:
        return Waiting(
            _("This job waits for a change: {fault}").format(fault=state["fault"]),
            "link", _("Change what is asked"), "#ask",
        )  # fmt: skip
    if status == jobs.STOPPED:
        return Waiting(_("This job was stopped before it was done."), "again", _("Start again"))
    if status == jobs.INTERRUPTED:
        return Waiting(
            _("Firstpiece was closed before this job was done."), "again", _("Start again")
        )
    if result is None:
        return Waiting(
            _("This job was done by an earlier Firstpiece and waits to be done again."),
            "again", _("Do it again"),
        )  # fmt: skip
    return _waiting_for_person(result, asked, record)


def _waiting_for_order(record: Job) -> Waiting:
    """Return what the order waits for, with the place on the job's page where it is done."""
    from firstpiece.web.shop_words import next_action

    action = next_action(record.waiting)
    if action is None:
        return Waiting(_("This job waits for nothing."))
    sentence = _("This job waits for {what}.").format(what=record.waiting.sentence)
    place = f"#{action.place}" if action.place else ""
    return Waiting(sentence, "link", action.label, f"/job/{record.id}{place}")


def _waiting_for_person(result: Object, asked: Asked, record: Job | None) -> Waiting:
    findings = result["findings"]
    blocking = [f for f in findings if f["severity"] == "block"]
    if blocking:
        first = blocking[0]
        sentence = _("This job waits for a change: {reason}").format(reason=first["reason"])
        for choice, remedy in enumerate(first["remedies"]):
            if apply_remedy(asked, remedy):
                return Waiting(sentence, "remedy", remedy["label"], str(first["pin"]), choice)
        return Waiting(sentence, "link", _("See what would help"), f"#finding-{first['pin']}")
    if record is not None and _is_under_way(record):
        return _waiting_for_order(record)
    n_open = len(result["questions"])
    if n_open and not (record is not None and record.answers):
        return _waiting_for_answers(n_open, record)
    n_warn = sum(f["severity"] == "warn" for f in findings)
    if n_warn:
        sentence = ngettext(
            "This job waits for you to look at {n} finding.",
            "This job waits for you to look at {n} findings.", n_warn,
        ).format(n=n_warn)  # fmt: skip
        return Waiting(sentence, "link", _("Go to the findings"), "#findings")
    if record is not None:
        return _waiting_for_order(record)
    return Waiting(
        _("This job waits for the customer’s yes."), "file", _("Fetch the proof"), "proof.pdf"
    )


def _is_under_way(record: Job) -> bool:
    """Return whether a job is past its design: asked about, offered, agreed or over."""
    has_price = record.offer is not None or record.agreed is not None
    return bool(record.question) or has_price or not record.state.is_open


def _waiting_for_answers(n_open: int, record: Job | None) -> Waiting:
    if record is None:
        sentence = ngettext(
            "This job waits for the customer’s answer to {n} question.",
            "This job waits for the customer’s answer to {n} questions.", n_open,
        )  # fmt: skip
        target = "#questions"
    else:
        sentence = ngettext(
            "This job waits for us: ask the customer {n} question.",
            "This job waits for us: ask the customer {n} questions.", n_open,
        )  # fmt: skip
        target = f"/job/{record.id}#asked"
    return Waiting(sentence.format(n=n_open), "link", _("Read the message to send"), target)


def describe_areas(result: Object) -> tuple[tuple[Object, ...], tuple[Object, ...]]:
    """Return the areas as sentences in sewing order, split into those shown and the rest.

    Areas that follow one another and are sewn alike share a sentence.
    """
    threads = result["plan"]["threads"]
    order = sorted(result["plan"]["treatments"], key=lambda t: t["sewn_order"])
    lines = []
    place = 1
    for (thread, _kind, _spacing), alike in groupby(order, key=_way_of_sewing):
        group = list(alike)
        lines.append(
            {
                "hex": threads[thread]["hex"],
                "name": _area_name(group),
                "lead": _area_lead(group[0], threads[thread]["name"], _place_words(place, group)),
                "reason": _clause(group[0]["reason"]),
            }
        )
        place += len(group)
    return tuple(lines[:AREAS_SHOWN]), tuple(lines[AREAS_SHOWN:])


def _way_of_sewing(treatment: Object) -> tuple[int, str, float]:
    return (treatment["thread"], treatment["stitch_type"], treatment["spacing_mm"] or 0.0)


def _area_name(group: list[Object]) -> str:
    numbers = sorted(t["region_id"] for t in group)
    if len(numbers) == 1:
        return _("Area {n}").format(n=numbers[0])
    first = ", ".join(str(n) for n in numbers[:-1])
    return _("Areas {first} and {last}").format(first=first, last=numbers[-1])


def _place_words(place: int, group: list[Object]) -> str:
    if len(group) == 1:
        return ordinal(place)
    last = place + len(group) - 1
    return _("{first} to {last}").format(first=ordinal(place), last=ordinal(last))


def _area_lead(treatment: Object, thread: str, place: str) -> str:
    values = {
        "thread": thread,
        "spacing": f"{treatment['spacing_mm'] or 0:.2f}",
        "length": f"{treatment['stitch_length_mm'] or 0:.1f}",
        "place": place,
    }
    kind = treatment["stitch_type"]
    if kind == "fill":
        text = _("filled, {thread}, rows {spacing} mm apart, sewn {place}")
    elif kind == "satin":
        text = _("satin column, {thread}, {spacing} mm column spacing, sewn {place}")
    else:
        text = _("running line, {thread}, stitches {length} mm long, sewn {place}")
    return text.format(**values)


def _clause(sentence: str) -> str:
    """Return a sentence as a part of another: no full stop, no capital unless a name has it."""
    plain = sentence.strip().rstrip(".")
    is_word = plain[1:2].islower() or plain[1:2] == " "
    return plain[:1].lower() + plain[1:] if is_word else plain


def remedied(asked: Asked, finding: Object, choice: int, tried: Object | None) -> Asked | None:
    """Return what to ask for when a remedy is taken, None when it is done by hand.

    Parameters
    ----------
    asked : Asked
    finding : dict
    choice : int
        Which of its remedies, from 0.
    tried : dict or None
        What was found by trying, by the finding's number.
    """
    entry = _entry(tried, finding["pin"], choice)
    if entry is not None:
        return Asked.from_object(entry["asked"])
    return apply_remedy(asked, finding["remedies"][choice])


def _entry(tried: Object | None, pin: int, choice: int) -> Object | None:
    entries = (tried or {}).get(str(pin), ())
    found: Object | None = entries[choice] if choice < len(entries) else None
    return found


def describe_findings(
    result: Object, asked: Asked, tried: Object | None = None
) -> tuple[Object, ...]:
    """Return the findings with their remedies, each told whether one click can apply it.

    ``tried`` holds what each remedy changed when it was tried, by the finding's number.
    """
    words = {"block": _("Do not sew"), "warn": _("Look at this"), "note": _("Good to know")}
    return tuple(
        {
            **finding,
            "word": words[finding["severity"]],
            "figure": _figure_words(finding),
            "remedies": remedies,
            "by_hand": "; ".join(
                _clause(r["label"]) for r in remedies if not r["can_apply"] and not r["is_useless"]
            ),
        }
        for finding in result["findings"]
        for remedies in [_remedies(finding, asked, tried)]
    )


def _remedies(finding: Object, asked: Asked, tried: Object | None) -> list[Object]:
    told = []
    for choice, remedy in enumerate(finding["remedies"]):
        entry = _entry(tried, finding["pin"], choice)
        is_useless = entry is not None and not entry["answers"]
        can_apply = entry is not None or apply_remedy(asked, remedy) is not None
        told.append(
            {
                **remedy,
                "choice": choice,
                "can_apply": can_apply and not is_useless,
                "is_useless": is_useless,
                "price": describe_change(entry, finding["unit"]) if entry else "",
            }
        )
    return told


def _sign(amount: Decimal) -> str:
    return "±" if abs(amount) < Decimal("0.005") else "+" if amount > 0 else "−"


def describe_change(entry: Object, unit: str) -> str:
    """Return what a remedy changes per piece: stitches, minutes, money, and what is left."""
    # Here, so that the first page does not wait for tables of all the world's money.
    from babel.numbers import format_currency

    amount = Decimal(entry["each"]["amount"])
    shown = format_currency(abs(amount), entry["each"]["currency"], locale="en_GB")
    told = [
        _("{n} stitches").format(n=f"{entry['stitches']:+,d}".replace(",", "\u202f")),
        _("{n} min").format(n=f"{entry['minutes']:+.1f}"),
        _("{money} a piece").format(money=_sign(amount) + shown),
    ]
    changes = ", ".join(told).replace("-", "−").replace("+0 ", "±0 ").replace("+0.0", "±0.0")
    changes = changes.replace("−0.0 ", "±0.0 ")
    if entry["left"] is None:
        return _("{changes}; the finding is gone").format(changes=changes)
    return _("{changes}; leaves {left}").format(
        changes=changes, left=with_unit(entry["left"], unit)
    )


def _figure_words(finding: Object) -> str:
    measured, limit, unit = finding["measured"], finding["limit"], finding["unit"]
    if measured is None:
        return ""
    shown = with_unit(measured, unit)
    if limit is None:
        return _("Measured {value}").format(value=shown)
    return _("Measured {value}, held against {limit}").format(
        value=shown, limit=with_unit(limit, unit)
    )


def describe_looks(cards: CardDrawer) -> tuple[Object, ...]:
    """Return the garments on which the sew-out can be shown, with colour and weave of their cloth.

    The weave counts as the thread view's own blob does.
    """
    weaves = tuple(Weave)
    return tuple(
        {
            "name": garment.name,
            "label": garment.label,
            "hex": "{:02x}{:02x}{:02x}".format(*garment.rgb),
            "weave": weaves.index(cards.fabric(garment.fabric).weave),
        }
        for garment in map(cards.garment, cards.names("garments"))
    )


def describe_layers(result: Object) -> tuple[Object, ...]:
    """Return the forecast's maps: key, the words that choose it, how far it can be trusted."""
    words = {
        "cover": _("how much of the cloth is under thread"),
        "threads": _("how many threads lie over one another"),
        "shift": _("where the cloth changes the colour"),
        "front": _("how high the thread lies in front"),
        "back": _("how high the thread lies behind"),
        "holes": _("how close the needle goes in"),
        "drawn": _("how far the cloth is drawn"),
    }
    return tuple(
        {**layer, "words": words[layer["key"]]}
        for layer in result["layers"]
        if layer["key"] in words
    )


def describe_threads(result: Object) -> tuple[Object, ...]:
    """Return the threads in the order they are sewn, with the metres each takes per piece."""
    metres = {u["thread"]: u["top"] for u in result["forecast"]["thread_use"]}
    return tuple(
        {
            **thread,
            "place": number,
            "metres": metres.get(number - 1),
        }
        for number, thread in enumerate(result["plan"]["threads"], start=1)
    )


def describe_prices(ladder: Object | None, asked: Asked) -> Object | None:
    """Return the price table: a row per height, a cell per number of pieces."""
    if ladder is None:
        return None
    rows = [
        {**rung, "is_asked": abs(rung["height_mm"] - asked.height_mm) < 0.06}
        for rung in ladder["rungs"]
    ]
    waiting = [{"height_mm": mm, "is_waiting": True} for mm in ladder.get("waiting_mm", ())]
    return {
        "quantities": ladder["quantities"],
        "rows": sorted([*rows, *waiting], key=lambda row: row["height_mm"]),
        "is_whole": not waiting,
        "currency": rows[0]["quotes"][0]["each"]["currency"],
        "asked_quantity": asked.quantity,
    }


def describe_files(result: Object) -> tuple[Object, ...]:
    """Return the downloads with what each is for and its size."""
    words = {
        "proof.pdf": _("the proof at true size, to send to the customer"),
        "proof.png": _("the proof as a picture, for a message"),
        "run-sheet.pdf": _("this sheet on paper, for the machine’s side"),
        "sewout.png": _("the design as sewn, large"),
        "cleaned.png": _("the cleaned art, large"),
        "questions.txt": _("the message to the customer"),
        "questions.png": _("the lettered picture that goes with it"),
        "stitches.csv": _("every movement of the needle, in millimetres"),
        "threads.json": _("the threads that the stitch list counts"),
        "regions.svg": _("the cleaned areas, true size"),
        "plan.json": _("how each area is sewn and why"),
        "forecast.json": _("every figure of the forecast with its band"),
        "quote.json": _("the price and what it is made of"),
    }
    return tuple(
        {
            "name": file["name"],
            "words": words.get(file["name"], ""),
            "size": with_unit(file["bytes"] / 1000, "kB"),
        }
        for file in sorted(
            result["files"],
            key=lambda f: list(words).index(f["name"]) if f["name"] in words else 99,
        )
    )
