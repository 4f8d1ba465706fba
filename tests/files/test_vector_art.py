"""Reading drawings: areas against plain geometry, paint against its rules, and bad drawings."""

import math

import pytest
import shapely

from firstpiece.errors import PictureError
from firstpiece.files.picture import read_artwork

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg(body, *, box="0 0 400 300"):
    return f'{HEAD} viewBox="{box}">{body}</svg>'.encode()


def shapes(body, **extra):
    return read_artwork(svg(body, **extra), name="a.svg").shapes


def only(body, **extra):
    (shape,) = shapes(body, **extra)
    return shape


AREAS = {
    "rect": ('<rect x="10" y="20" width="100" height="50"/>', 5000.0),
    "rounded rect": (
        '<rect x="0" y="0" width="100" height="50" rx="10"/>',
        5000.0 - (4.0 - math.pi) * 100.0,
    ),
    "rect in percent": ('<rect width="50%" height="50%"/>', 200.0 * 150.0),
    "circle": ('<circle cx="200" cy="150" r="100"/>', math.pi * 100.0**2),
    "ellipse": ('<ellipse cx="200" cy="150" rx="150" ry="40"/>', math.pi * 150.0 * 40.0),
    "polygon": ('<polygon points="0,0 100,0 0,80"/>', 4000.0),
    "polyline is filled": ('<polyline points="0,0 100,0 0,80"/>', 4000.0),
    "circle by two arcs": (
        '<path d="M100 150 a100 100 0 0 1 200 0 a100,100 0 0 1-200 0z"/>',
        math.pi * 100.0**2,
    ),
    "parabola": ('<path d="M0 0 Q100 200 200 0z"/>', 2.0 / 3.0 * 200.0 * 100.0),
    "line has no fill": (
        '<line x1="0" y1="9" x2="100" y2="9" stroke="red" stroke-width="4"/>',
        400.0,
    ),
    "round caps": (
        '<path d="M50 50h100" fill="none" stroke="red" stroke-width="20" stroke-linecap="round"/>',
        100.0 * 20.0 + math.pi * 100.0,
    ),
    "square caps": (
        '<path d="M50 50h100" fill="none" stroke="red" stroke-width="20" stroke-linecap="square"/>',
        120.0 * 20.0,
    ),
    "mitred ring": (
        '<rect x="50" y="50" width="100" height="100" fill="none" stroke="red" stroke-width="10"/>',
        110.0**2 - 90.0**2,
    ),
    "bevelled ring": (
        '<rect x="50" y="50" width="100" height="100" fill="none" stroke="red" stroke-width="10"'
        ' stroke-linejoin="bevel"/>',
        110.0**2 - 90.0**2 - 4 * 12.5,
    ),
    "dashes": (
        '<path d="M0 50h100" fill="none" stroke="red" stroke-width="2" stroke-dasharray="10 5"/>',
        2.0 * 70.0,
    ),
    "dot of no length": (
        '<path d="M50 50h0" fill="none" stroke="red" stroke-width="20" stroke-linecap="round"/>',
        math.pi * 100.0,
    ),
    "even-odd": (
        '<path fill-rule="evenodd" d="M0 0h100v100h-100z M20 20h60v60h-60z"/>',
        10_000.0 - 3_600.0,
    ),
    "nonzero, same way round": ('<path d="M0 0h100v100h-100z M20 20h60v60h-60z"/>', 10_000.0),
    "nonzero, other way round": (
        '<path d="M0 0h100v100h-100z M20 20v60h60v-60z"/>',
        10_000.0 - 3_600.0,
    ),
    "bow tie": ('<path d="M0 0L100 100V0L0 100z"/>', 5_000.0),
    "scaled stroke": (
        '<g transform="scale(2)"><path d="M0 9h50" stroke="red" stroke-width="3"/></g>',
        100.0 * 6.0,
    ),
    "widths with a unit": (
        '<path d="M0 9h100" stroke="red" stroke-width="3pt"/>',
        100.0 * 4.0,
    ),
    "a rect in inches": ('<rect width="1in" height="25.4mm"/>', 96.0**2),
    "clipped": (
        '<clipPath id="c"><rect width="50" height="50"/></clipPath>'
        '<circle cx="0" cy="0" r="40" clip-path="url(#c)"/>',
        math.pi * 1600.0 / 4.0,
    ),
    "cut by the canvas": ('<rect x="350" y="250" width="100" height="100"/>', 50.0 * 50.0),
    "drawn up to a mistake": ('<path d="M0 0h100v100h-100z M5 5 L oops"/>', 10_000.0),
}


@pytest.mark.parametrize("case", AREAS)
def test_areas_by_hand(case):
    body, area = AREAS[case]
    # Curves are flattened to 1/4000 of the larger side: well within 2 parts in a thousand.
    assert only(body).area.area == pytest.approx(area, rel=2e-3)


def test_transforms_apply_from_the_inside_out():
    nested = only('<g transform="translate(100 50)"><rect transform="rotate(90)" width="40" '
                  'height="10"/></g>')  # fmt: skip
    assert nested.area.bounds == pytest.approx((90.0, 50.0, 100.0, 90.0))
    listed = only('<rect transform="translate(100 50) scale(2) skewX(45)" width="9" height="10"/>')
    assert listed.area.bounds == pytest.approx((100.0, 50.0, 138.0, 70.0))
    turned = only('<rect transform="rotate(180 50 50)" x="50" y="50" width="9" height="10"/>')
    assert turned.area.bounds == pytest.approx((41.0, 40.0, 50.0, 50.0))
    matrix = only('<rect transform="matrix(1,2,3,4,5,6)" width="1" height="1"/>')
    assert matrix.area.bounds == pytest.approx((5.0, 6.0, 9.0, 12.0))


PAINTS = {
    'fill="#abc"': (0xAA, 0xBB, 0xCC),
    'fill="tomato"': (255, 99, 71),
    'fill="rgb(10, 20, 30)"': (10, 20, 30),
    'fill="rgb(100%, 0%, 50%)"': (255, 0, 128),
    'fill="rgba(0,0,0,0.5)"': (128, 128, 128),
    'fill="hsl(120, 100%, 50%)"': (0, 255, 0),
    "": (0, 0, 0),
    'color="red" fill="currentColor"': (255, 0, 0),
    'style="fill: #123456; stroke: none"': (0x12, 0x34, 0x56),
    'fill="red" style="fill:blue"': (0, 0, 255),
    'fill="red" opacity="0.5"': (255, 128, 128),
    'fill="red" fill-opacity="50%"': (255, 128, 128),
    'class="leaf"': (0, 128, 0),
    'id="apple" class="leaf"': (200, 10, 10),
    'class="leaf" style="fill:black"': (0, 0, 0),
    'fill="url(#missing) blue"': (0, 0, 255),
}


@pytest.mark.parametrize("paint", PAINTS)
def test_paint_follows_its_rules(paint):
    sheet = "<style>.leaf { fill: green } #apple{fill:#c80a0a} /* rect {fill:red} */</style>"
    assert only(f'{sheet}<rect width="9" height="9" {paint}/>').rgb == PAINTS[paint]


def test_translucent_paint_mixes_with_what_is_below():
    below, mixed, over_paper = shapes(
        '<rect width="50" height="50" fill="#0000ff"/>'
        '<rect width="100" height="50" fill="#ff0000" opacity="0.5"/>'
    )
    assert below.rgb == (0, 0, 255)
    assert (mixed.rgb, mixed.area.area) == ((128, 0, 128), 2500.0)
    assert (over_paper.rgb, over_paper.area.area) == ((255, 128, 128), 2500.0)


def test_gradients_become_their_mean_and_are_told():
    art = read_artwork(
        svg('<linearGradient id="g"><stop offset="0" stop-color="black"/>'
            '<stop offset="1" stop-color="white"/></linearGradient>'
            '<linearGradient id="h" xlink:href="#g"/><rect width="9" height="9" fill="url(#h)"/>'),
        name="a",
    )  # fmt: skip
    assert art.shapes[0].rgb == (128, 128, 128)
    assert [note.code for note in art.notes] == ["gradient-flattened"]


def test_what_cannot_be_sewn_is_told():
    art = read_artwork(
        svg('<rect width="9" height="9"/><text y="20">Hi</text><image href="x.png"/>'
            '<use href="other.svg#part"/><rect width="5" height="5" filter="url(#f)"/>'),
        name="a",
    )  # fmt: skip
    assert {note.code for note in art.notes} == {
        "text-skipped", "image-skipped", "reference-skipped", "effect-skipped",
    }  # fmt: skip


def test_what_is_not_shown_is_not_read():
    hidden = (
        '<g display="none"><rect width="9" height="9"/></g>'
        '<defs><rect width="9" height="9"/></defs>'
        '<rect width="9" height="9" visibility="hidden"/><rect width="9" height="9" fill="none"/>'
        '<rect width="9" height="9" opacity="0"/>'
        '<symbol id="s"><rect width="9" height="9"/></symbol>'
    )
    assert len(shapes(hidden + '<circle r="5"/>')) == 1


def test_use_repeats_with_its_own_place_and_paint():
    one, two = shapes(
        '<defs><g id="a"><rect id="b" width="10" height="10"/></g></defs>'
        '<use xlink:href="#a" x="20" fill="red"/><use href="#b" transform="translate(0 40)"/>'
    )
    assert (one.area.bounds, one.rgb) == ((20.0, 0.0, 30.0, 10.0), (255, 0, 0))
    assert (two.area.bounds, two.rgb) == ((0.0, 40.0, 10.0, 50.0), (0, 0, 0))


def test_a_symbol_fits_its_view_box():
    shape = only(
        '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10"/></symbol>'
        '<use href="#s" x="100" y="50" width="40" height="60"/>'
    )
    assert shape.area.bounds == pytest.approx((100.0, 60.0, 140.0, 100.0))


def test_switch_draws_the_first_that_can_be():
    shape = only(
        '<switch><foreignObject requiredExtensions="x"/><g><rect width="10" height="10"/></g>'
        '<g><circle r="50"/></g></switch>'
    )
    assert shape.area.area == pytest.approx(100.0)


def test_the_view_boxs_corner_is_the_origin():
    art = read_artwork(svg('<rect x="-50" y="-50" width="20" height="10"/>', box="-50 -50 100 90"),
                       name="a")  # fmt: skip
    assert art.shapes[0].area.bounds == (0.0, 0.0, 20.0, 10.0)
    assert (art.width, art.height) == (100.0, 90.0)


def test_small_art_on_a_large_canvas_is_drawn_finely():
    shape = only('<circle cx="5000" cy="5000" r="10"/>', box="0 0 10000 10000")
    assert shape.area.area == pytest.approx(math.pi * 100.0, rel=2e-3)


def test_without_a_canvas_the_art_is_the_canvas():
    art = read_artwork(f'{HEAD}><circle cx="5" cy="7" r="2"/></svg>'.encode(), name="a")
    assert (art.width, art.height) == pytest.approx((4.0, 4.0), rel=1e-3)
    assert art.shapes[0].area.bounds[:2] == pytest.approx((0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize(
    "size", ['width="210mm" height="297mm"', 'width="793.7" height="1122.5px"']
)
def test_units_of_the_canvas(size):
    art = read_artwork(f'{HEAD} {size}><rect width="9" height="9"/></svg>'.encode(), name="a")
    assert (art.width, art.height) == pytest.approx((793.7, 1122.5), abs=0.1)


def test_all_areas_are_valid():
    star = " ".join(f"{math.cos(k * 2.6):.3f},{math.sin(k * 2.6):.3f}" for k in range(30))
    for shape in shapes(f'<polygon transform="translate(90 90) scale(80)" points="{star}" '
                        'stroke="red" stroke-width=".1"/>'):  # fmt: skip
        assert shape.area.is_valid
        assert isinstance(shape.area, shapely.Polygon | shapely.MultiPolygon)


def test_names_drawing_programs_define_are_put_in():
    text = (
        '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd" '
        '[ <!ENTITY ns_svg "http://www.w3.org/2000/svg"> <!ATTLIST svg x CDATA #IMPLIED> ]>'
        '<svg xmlns="&ns_svg;" viewBox="0 0 9 9"><rect width="3" height="3"/></svg>'
    )
    assert len(read_artwork(text.encode(), name="a").shapes) == 1
    assert len(read_artwork(text.encode("utf-16"), name="a").shapes) == 1


def doctype(subset, body="&e;"):
    return (f'<!DOCTYPE svg [{subset}]><svg xmlns="http://www.w3.org/2000/svg">'
            f"<desc>{body}</desc><rect width='1' height='1'/></svg>").encode()  # fmt: skip


BOMB = "".join(f'<!ENTITY e{k} "{f"&e{k - 1};" * 10}">' for k in range(1, 9))
BAD = {
    "cut short": (svg('<rect width="9" height="9"/>')[:-9], "damaged or cut short"),
    "not svg": (b"<html><svg></svg></html>", "not an SVG drawing"),
    "outside entity": (doctype('<!ENTITY e SYSTEM "file:///etc/passwd">'), "outside itself"),
    "parameter entity": (doctype('<!ENTITY % p SYSTEM "http://x/y"> %p;'), "outside itself"),
    "entity bomb": (doctype('<!ENTITY e0 "ha">' + BOMB, "&e8;"), "outside itself|damaged"),
    "use of itself": (svg('<g id="a"><use href="#a"/></g>'), "without end"),
    "use in a ring": (
        svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'),
        "without end",
    ),
    "use that doubles": (
        svg("<defs><rect id='u0' width='1' height='1'/>" + "".join(
            f"<g id='u{k}'><use href='#u{k - 1}'/><use href='#u{k - 1}'/></g>" for k in range(1, 30)
        ) + "</defs><use href='#u29'/>"),
        "too many parts",
    ),
    "too deep": (svg("<g>" * 200 + "</g>" * 200), "too many parts"),
    "not a number": (svg('<rect transform="scale(nan)" width="9" height="9"/>'), "usable number"),
    "huge": (svg('<rect width="9e20" height="9"/>'), "usable number"),
    "overflow": (svg('<path d="M0 0L1e400 0L0 1e400z"/>'), "usable number"),
    "endless canvas": (svg("<rect/>", box="0 0 1e300 9"), "usable number"),
    "nothing": (svg(""), "nothing is painted"),
    "only text": (svg("<text>Hello</text>"), "holds only text"),
    "all outside": (svg('<rect x="900" width="9" height="9"/>'), "nothing is painted"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_bad_drawings_get_one_clear_sentence(case):
    data, words = BAD[case]
    with pytest.raises(PictureError, match=words) as caught:
        read_artwork(data, name="logo.svg")
    assert str(caught.value).startswith("logo.svg: ")
    assert caught.value.remedy
