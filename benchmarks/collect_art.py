"""Choose the real input sample: 40 flat clip-art drawings and 20 flat icons, by a fixed rule.

Run once with the unpacked contents of the two packages named in ``tests/art/MANIFEST.json``; the
result is kept in the repository. The rule: flat drawings only (no gradient, filter, picture or
text; 2 to 60 shapes; 2 to 8 colours; at most 60 kB), in the order of their SHA-256, a quota for
each subject, skipping what is listed in ``PASSED_OVER`` with its reason. Author names, notes and
editor settings are taken out; nothing that is painted is changed.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
from pathlib import Path

from lxml import etree

ART = Path(__file__).resolve().parent.parent / "tests" / "art"
QUOTAS = {
    "animals": 10, "plants": 5, "food": 10, "tools": 5, "recreation": 5, "buildings": 3,
    "office": 1, "decorations": 1,
}  # fmt: skip
N_ICONS = 20
LARGEST_BYTES = 60_000
NOT_FLAT = {"linearGradient", "radialGradient", "filter", "image", "text", "pattern", "mask"}
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
PAINT = re.compile(r"(?:fill|stroke)\s*[:=]\s*\"?\s*(#[0-9a-fA-F]{3,6}|none|[a-z]+|rgb\([^)]*\))")
OPACITY = re.compile(r"opacity\s*[:=]\s*\"?([0-9]*\.?[0-9]+)")

# First characters of the SHA-256 of the file as packaged, or the icon's name.
PASSED_OVER: dict[str, str] = json.loads((Path(__file__).parent / "passed_over.json").read_text())


def flat_drawing(data: bytes) -> etree._Element | None:
    """Return the parsed drawing when it is flat by the rule, else None."""
    if len(data) > LARGEST_BYTES or b"<!ENTITY" in data:
        return None
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    except etree.XMLSyntaxError:
        return None
    if root.tag != "{http://www.w3.org/2000/svg}svg":
        return None
    tags = [etree.QName(e).localname for e in root.iter() if isinstance(e.tag, str)]
    text = data.decode("utf-8", "replace")
    colors = {c.lower() for c in PAINT.findall(text) if c != "none"}
    is_faint = any(0 < float(x) < 0.5 for x in OPACITY.findall(text))
    n_shapes = sum(tag in SHAPES for tag in tags)
    is_flat = not NOT_FLAT & set(tags) and not is_faint
    return root if is_flat and 2 <= n_shapes <= 60 and 2 <= len(colors) <= 8 else None


def strip_notes(root: etree._Element) -> bytes:
    """Return the drawing without author data, comments and editor settings."""
    for element in list(root.iter()):
        foreign = isinstance(element.tag, str) and not element.tag.startswith(
            "{http://www.w3.org/2000/svg}"
        )
        is_note = not isinstance(element.tag, str) or etree.QName(element).localname in (
            "metadata", "title", "desc",
        )  # fmt: skip
        if (foreign or is_note) and element.getparent() is not None:
            element.getparent().remove(element)
            continue
        for name in list(element.attrib if isinstance(element.tag, str) else ()):
            if name.startswith("{") and not name.startswith("{http://www.w3.org"):
                del element.attrib[name]
    etree.cleanup_namespaces(root)
    return etree.tostring(root, xml_declaration=True, encoding="utf-8")


def collect_clipart(svg_folder: Path) -> list[dict[str, object]]:
    entries = []
    seen: set[str] = set()
    for subject, quota in QUOTAS.items():
        found = {
            hashlib.sha256(path.read_bytes()).hexdigest(): path
            for path in (svg_folder / subject).rglob("*.svg")
        }
        chosen = 0
        for digest in sorted(found):
            root = flat_drawing(found[digest].read_bytes())
            if root is None or digest in seen or digest[:8] in PASSED_OVER:
                continue
            seen.add(digest)
            chosen += 1
            name = f"clipart/{subject}-{chosen:02d}.svg"
            entries.append(write_entry(name, strip_notes(root), origin=digest))
            if chosen == quota:
                break
    return entries


def collect_icons(icons_json: Path) -> list[dict[str, object]]:
    icons = json.loads(icons_json.read_text("utf-8"))["icons"]
    drawings = {
        name: '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 48 48" '
        f'width="48" height="48">{icon["body"]}</svg>\n'
        for name, icon in icons.items()
    }
    ordered = sorted(drawings, key=lambda n: hashlib.sha256(drawings[n].encode()).hexdigest())
    entries = []
    for name in ordered:
        data = drawings[name].encode()
        n_shapes = len(re.findall("<(?:path|rect|circle|ellipse|polygon)", drawings[name]))
        if name in PASSED_OVER or n_shapes < 3 or flat_drawing(data) is None:
            continue
        entries.append(write_entry(f"icons/{name}.svg", data, origin=name))
        if len(entries) == N_ICONS:
            break
    return entries


def write_entry(name: str, data: bytes, *, origin: str) -> dict[str, object]:
    path = ART / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return {
        "file": name,
        "sha256": hashlib.sha256(data).hexdigest(),
        "origin": f"sha256:{origin}" if len(origin) == 64 else origin,
    }


def main() -> None:
    clipart = collect_clipart(Path(sys.argv[1]))
    icons = collect_icons(Path(sys.argv[2]))
    manifest = {
        "sets": {
            "clipart": {
                "package": "openclipart-svg 1:0.18+dfsg-19 (Debian)",
                "licence": "public domain dedication (clipart/LICENSE)",
                "changed": "author data, comments and editor settings taken out",
            },
            "icons": {
                "package": "@iconify-json/flat-color-icons 1.2.3",
                "licence": "MIT (icons/LICENSE)",
                "changed": "each icon's body put in an svg element of its size",
            },
        },
        "files": clipart + icons,
    }
    text = json.dumps(manifest, indent=1, ensure_ascii=False)
    (ART / "MANIFEST.json").write_text(text + "\n", "utf-8")
    print(len(clipart), "drawings and", len(icons), "icons in", ART)


if __name__ == "__main__":
    main()
