"""A small builder for pages that stand alone: text in, valid HTML out. What is no `Html` is text and is escaped, wherever it came from.

Pages carry their style and pictures in themselves, run no script and fetch nothing. Black on white; grey text is #444 (9.7 to 1 on white) and nothing
is told by colour alone. On paper: A4 or Letter, tables repeat their heads, a row or a picture is never cut in two.
"""

from __future__ import annotations

import re
from html import escape

AID = "An aid, not a safety device: it cannot see the pot, the food or the people. Stay with hot oil."
LOCAL = "Local codes, your fire service and licensed practice go first. Nothing here replaces a trained person."

# what no HTML document may hold: control characters, halves of surrogate pairs, the noncharacters
_INVALID = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef" + "".join(chr(p * 0x10000 + n) for p in range(17) for n in (0xFFFE, 0xFFFF)) + "]"
)

_UNIT = re.compile(r"(\d) (?=(?:°[FC]|min|s|h|g|kg|ml|l|mm|cm)\b)")

STYLE = """
:root { color-scheme: light }
@page { margin: 13mm 13mm 15mm }
* { box-sizing: border-box }
body { font: 11pt/1.4 "Segoe UI", "Helvetica Neue", Arial, "DejaVu Sans", sans-serif; color: #000; background: #fff; max-width: 190mm;
  margin: 0 auto; padding: 6mm 4mm; overflow-wrap: anywhere }
h1 { font-size: 21pt; line-height: 1.15; margin: 0 0 2mm }
h2 { font-size: 14pt; margin: 8mm 0 2mm; padding-bottom: 1mm; border-bottom: 1.5pt solid #000 }
h3 { font-size: 11.5pt; margin: 4mm 0 1mm } h1, h2, h3, .keep { break-after: avoid } p { margin: 1.5mm 0 }
table { border-collapse: collapse; width: 100%; font-size: 10pt } thead { display: table-header-group }
th, td { text-align: left; vertical-align: top; padding: 1.1mm 2.5mm 1.1mm 0; border-bottom: .5pt solid #888; unicode-bidi: isolate }
th { font-weight: 600; border-bottom: 1pt solid #000; vertical-align: bottom; overflow-wrap: normal }
tr, figure, li, .box { break-inside: avoid } td.n { white-space: nowrap; font-variant-numeric: tabular-nums }
tr.sub td { border-bottom-style: dotted; color: #444 } tr.sub td:first-child { padding-left: 5mm }
.soft { color: #444 } .big { font-size: 12.5pt } .lead { font-size: 12pt }
ul, ol { margin: 1.5mm 0; padding-left: 6mm } li { margin: 1.2mm 0 }
figure { margin: 3mm 0 } figure svg { width: 100%; height: auto; display: block } figcaption { font-size: 9.5pt; color: #444 }
.box { border: 1.5pt solid #000; padding: 2.5mm 4mm; margin: 3mm 0 } .box p:first-child { margin-top: 0 }
.warn { border-left: 3pt solid #9B2423; padding-left: 3mm; break-inside: avoid; margin: 1mm 0 }
.order th:nth-child(2) { width: 60% } .two { columns: 2; column-gap: 9mm } .whole { break-inside: avoid }
.table { overflow-x: auto } .box p:last-child { margin-bottom: 0 }
footer { margin-top: 5mm; border-top: .5pt solid #888; padding-top: 1.5mm; font-size: 9pt; color: #444; break-before: avoid; break-inside: avoid }
@media (max-width: 34em) { .two { columns: 1 } }
@media print { body { padding: 0; max-width: none } .table { overflow: visible } }
"""


class Html(str):
    """Markup that is finished; everything else is text."""

    __slots__ = ()


def text(words: str) -> Html:
    """Free text, safe inside an element or a quoted attribute; characters that no page may hold become the replacement character, and a figure
    stays on one line with its unit.

    >>> text('<script>"&')
    '&lt;script&gt;&quot;&amp;'
    """
    return Html(escape(_UNIT.sub("\\1\u00a0", _INVALID.sub("\ufffd", words)), quote=True))


def el(tag: str, *inside: str, cls: str = "", **attributes: str) -> Html:
    """An element around its children; a trailing underscore in an attribute's name is dropped, others become hyphens.

    >>> el("p", "a < b", el("b", "c"), cls="soft")
    '<p class="soft">a &lt; b<b>c</b></p>'
    """
    named = {"class": cls, **attributes} if cls else attributes
    head = "".join(f' {name.rstrip("_").replace("_", "-")}="{text(value)}"' for name, value in named.items())
    return Html(f"<{tag}{head}>{join(*inside)}</{tag}>")


def join(*parts: str) -> Html:
    """Parts in a row."""
    return Html("".join(part if isinstance(part, Html) else text(part) for part in parts))


def table(heads: tuple[str, ...], *rows: tuple[str, ...] | Html, narrow: frozenset[int] = frozenset({0}), cls: str = "") -> Html:
    """A table with its head; narrow: columns that do not wrap. A row that is `Html` is a finished `tr`."""
    made = [row if isinstance(row, Html) else table_row(row, narrow) for row in rows]
    return el("div", el("table", el("thead", el("tr", *(el("th", h, scope="col") for h in heads))), el("tbody", *made), cls=cls), cls="table")


def table_row(cells: tuple[str, ...], narrow: frozenset[int] = frozenset({0}), cls: str = "") -> Html:
    """One row."""
    return el("tr", *(el("td", cell, cls="n" if i in narrow else "") for i, cell in enumerate(cells)), cls=cls)


def bullets(*items: str) -> Html:
    """A list."""
    return el("ul", *(el("li", item) for item in items))


def page(title: str, *body: str) -> str:
    """A whole document."""
    head = join(
        Html('<meta charset="utf-8">'),
        Html('<meta name="viewport" content="width=device-width, initial-scale=1">'),
        el("title", title),
        el("style", Html(STYLE)),
    )
    return f'<!DOCTYPE html>\n<html lang="en">\n<head>{head}</head>\n<body>\n{join(*body)}\n</body>\n</html>\n'


def svg(picture: str, prefix: str, words: str) -> Html:
    """A drawn picture as part of a page: no prolog, its ids its own, a name for those who cannot see it."""
    body = picture[picture.index("<svg") :].strip()
    body = re.sub(r'\bid="', f'id="{prefix}-', body)
    body = re.sub(r'(href="|url\()#', rf"\g<1>#{prefix}-", body)
    return Html(body.replace("<svg ", f'<svg role="img" aria-label="{text(words)}" ', 1))
