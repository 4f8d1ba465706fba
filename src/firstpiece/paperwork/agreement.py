"""What the customer agrees to beside the picture: thread or cloth, findings, prices, the yes.

In: a job. Out: strips to be set below the proof's picture.
"""

from __future__ import annotations

from gettext import gettext as _
from typing import TYPE_CHECKING

from babel.numbers import format_currency

from firstpiece.paperwork.design_drawing import draw_cover_map, scale_to_fit
from firstpiece.paperwork.flow import Strip, gap
from firstpiece.paperwork.form import heading_strip, note_strips, say_size
from firstpiece.paperwork.pins import findings_section, number_findings
from firstpiece.paperwork.sheet import ACCENT, BODY, CAPTION, MARGIN_MM, QUIET, Face, wrap

if TYPE_CHECKING:
    from moneyed import Money

    from firstpiece.model.paper import PaperJob
    from firstpiece.model.quote import Quote
    from firstpiece.paperwork.sheet import Sheet


def agreement_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return what follows the proof's picture; ``measure`` is the width between margins [mm]."""
    found = number_findings(job)
    return [
        *_cover_strips(job, measure),
        heading_strip(_("To know before sewing")),
        *findings_section(found, job.metrics, measure),
        *_price_strips(job, measure),
        *_yes_strips(job, measure),
    ]


def _cover_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return the drawing and the sentence that say what is thread and what is cloth."""
    sewn, bare = job.region_map.sewn_regions, [r for r in job.region_map.regions if r.is_bare]
    text = _(
        "Grey areas are sewn: {n} areas, {sewn:.0f} mm² of thread in all. White areas inside the "
        "design stay {cloth} cloth: {m} areas, {bare:.0f} mm². All around it the cloth stays bare."
    ).format(
        n=len(sewn),
        sewn=sum(r.polygon.area for r in sewn),
        cloth=job.setup.garment.color_name,
        m=len(bare),
        bare=sum(r.polygon.area for r in bare),
    )
    if not bare:
        text = _(
            "Grey areas are sewn: {n} areas, {sewn:.0f} mm² of thread in all. All around them the "
            "{cloth} cloth stays bare."
        ).format(n=len(sewn), sewn=sum(r.polygon.area for r in sewn),
            cloth=job.setup.garment.color_name)  # fmt: skip
    size = (job.region_map.width_mm, job.region_map.height_mm)
    scale = scale_to_fit(size, (52.0, 34.0))
    lines = wrap(text, measure - 60.0, BODY, job.metrics)
    tall = max(16.0, size[1] * scale, len(lines) * BODY.lead_mm)

    def draw(sheet: Sheet, y: float) -> None:
        draw_cover_map(sheet, job.region_map, (MARGIN_MM + 26.0, y - 1.0 - tall / 2), scale)
        sheet.paragraph(MARGIN_MM + 60.0, y, text, measure - 60.0)

    return [heading_strip(_("What is thread and what is cloth")), Strip(tall + 4.0, draw)]


def _price_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return the offered prices, one row for each height and number of pieces."""
    if not job.quotes:
        return []
    ends = [MARGIN_MM + measure * share for share in (0.38, 0.55, 0.78, 1.0)]
    right = Face(CAPTION.size_pt, rgb=CAPTION.rgb, align="right")

    def head(sheet: Sheet, y: float) -> None:
        sheet.text(MARGIN_MM, y - 3.4, _("design"), CAPTION)
        labels = (_("stitches"), _("pieces"), _("price each"), _("total"))
        for x, label in zip(ends, labels, strict=True):
            sheet.text(x, y - 3.4, label, right)
        sheet.rule(MARGIN_MM, y - 4.8, sheet.right_mm)

    def row(quote: Quote) -> Strip:
        values = (f"{quote.n_stitches:,}".replace(",", "\u202f"), str(quote.quantity),
            say_money(quote.each), say_money(quote.total))  # fmt: skip

        def draw(sheet: Sheet, y: float) -> None:
            size = say_size(quote.width_mm, quote.height_mm, job.unit)
            sheet.text(MARGIN_MM, y - 4.0, size)
            for x, value in zip(ends, values, strict=True):
                sheet.fit(x, y - 4.0, value, measure * 0.2, Face(BODY.size_pt, align="right"))
            sheet.rule(MARGIN_MM, y - 5.8, sheet.right_mm)

        return Strip(5.8, draw)

    rows = [row(q) for q in job.quotes]
    note = _("Price each is the total shared over the pieces and rounded up.")
    quiet = note_strips(note, (MARGIN_MM, measure), job.metrics)
    return [heading_strip(_("Prices")), Strip(4.8, head, leads=True), *rows, gap(1.5), *quiet]


def say_money(money: Money) -> str:
    """Return an amount with its currency."""
    said: str = format_currency(money.amount, str(money.currency), locale="en_GB")
    return said


def _yes_strips(job: PaperJob, measure: float) -> list[Strip]:
    """Return the customer's yes, kept whole: lines to be filled in by hand."""
    text = _(
        "I have looked at size, place, colours and spelling, and say yes to {design}, plan {plan}."
    ).format(design=job.revision, plan=job.plan.content_id())
    note = _(
        "This picture is a forecast from the stitch plan, not a sew-out. Thread shines, cloth "
        "moves and paper shows colours in its own way; the threads named here are what is sewn."
    )
    labels = (_("name"), _("signature"), _("date"))

    def draw(sheet: Sheet, y: float) -> None:
        sheet.rule(MARGIN_MM, y - 3.0, sheet.right_mm, ACCENT)
        sheet.text(MARGIN_MM, y - 9.5, _("Your yes"), Face(11.0, "bold", ACCENT))
        below = sheet.paragraph(MARGIN_MM, y - 11.5, text, measure)
        line_y = below - 13.0
        for i, label in enumerate(labels):
            x = MARGIN_MM + measure * i / 3
            sheet.line(x, line_y, x + measure / 3 - 6.0, line_y)
            sheet.text(x, line_y - 3.2, label, CAPTION)
        sheet.paragraph(MARGIN_MM, line_y - 5.5, note, measure, QUIET)

    words = len(wrap(text, measure, BODY, job.metrics)) * BODY.lead_mm
    words += len(wrap(note, measure, QUIET, job.metrics)) * QUIET.lead_mm
    return [Strip(32.0 + words, draw)]
