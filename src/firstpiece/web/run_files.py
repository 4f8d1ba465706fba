"""The names of the files in a run's folder, agreed between the worker and the pages."""

from __future__ import annotations

TRAVELLER = "traveller.json"
TRAVELLER_VERSION = 3
"""Raised when a page needs what older results do not hold; such results are made anew."""

LADDER = "ladder.json"
REMEDIES = "remedies.json"
BUDGET = "budget.json"
REVISION = "revision.json"
"""What the job's log keeps of the design."""

AREAS = "areas.json"
"""The cleaned areas, there before the stitches are planned."""

WAYS_PREFIX = "way-"
"""Begins the names of the pictures of one area in the ways it can be sewn."""

FILES = "files"

ORIGINAL_PNG, ORIGINAL_SVG = "original.png", "original.svg"
CLEANED, STILL, THUMB = "cleaned.svg", "still.jpg", "thumb.png"
QUESTIONS, PRICE_CHART = "questions.png", "ladder.png"
PICTURES = (ORIGINAL_PNG, ORIGINAL_SVG, CLEANED, STILL, THUMB, QUESTIONS, PRICE_CHART)
"""What the traveller may show; some of it lies among the downloads."""

SEWING = "sewing.fpv.gz"
SEWING_TYPE = "application/vnd.firstpiece.view"
LAYERS = "layers.fpl.gz"
LAYERS_TYPE = "application/vnd.firstpiece.layers"
