"""Makes a drawn chart fit for a page.

What is given as `style` becomes attributes, because the pages' content security policy lets no
style in the markup count. Colours become variables of the style sheet, which differ for a dark
screen and for print. Ids are the chart's own, and it has a title and a description.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

SVG = "http://www.w3.org/2000/svg"
LINK = "{http://www.w3.org/1999/xlink}href"

FILLS = ("#0101a0", "#0101a1", "#0101a2", "#0101a3", "#0101a4", "#0101a5")
EDGE, INK, LINE, PAPER = "#0101b0", "#0101b1", "#0101b2", "#0101b3"
"""Stand for the colours while a chart is drawn."""
COLOURS = {
    FILLS[0]: "var(--chart-0, #452766)",
    FILLS[1]: "var(--chart-1, #d9c8ec)",
    FILLS[2]: "var(--chart-2, #ffffff)",
    FILLS[3]: "var(--chart-3, #a98ccb)",
    FILLS[4]: "var(--chart-4, #efe8f6)",
    FILLS[5]: "var(--chart-5, #6f6480)",
    EDGE: "var(--chart-edge, #231b30)",
    INK: "var(--chart-ink, #231b30)",
    LINE: "var(--chart-line, #d3cbdf)",
    PAPER: "var(--chart-paper, #ffffff)",
}
FONT = re.compile(r"^(?:(bold|\d+) )?([\d.]+)px\b")
REFERENCE = re.compile(r"url\(#([^)]+)\)")


def cleaned(drawn: str, id: str, title: str, description: str) -> str:
    """The chart as an element of an HTML page, its ids starting with `id`."""
    ElementTree.register_namespace("", SVG)
    root = ElementTree.fromstring(drawn)
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag in (f"{{{SVG}}}metadata", f"{{{SVG}}}style"):
                parent.remove(child)
    used = references(root)
    for element in root.iter():
        tidy(element, id, used)
    for name in ("width", "height", "version"):
        root.attrib.pop(name, None)
    root.attrib |= {
        "class": "chart",
        "role": "img",
        "aria-labelledby": f"{id}-title {id}-told",
        "stroke-linejoin": "round",
        "stroke-linecap": "butt",
        "fill": COLOURS[INK],
    }
    for number, (tag, text) in enumerate((("title", title), ("desc", description))):
        told = ElementTree.Element(f"{{{SVG}}}{tag}")
        told.attrib["id"] = f"{id}-{'title' if tag == 'title' else 'told'}"
        told.text = text
        root.insert(number, told)
    return ElementTree.tostring(root, encoding="unicode")


def references(root: ElementTree.Element) -> set[str]:
    """The ids that something in the chart points to."""
    found: set[str] = set()
    for element in root.iter():
        for name, value in element.attrib.items():
            found |= set(REFERENCE.findall(value))
            if name == LINK:
                found.add(value[1:])
    return found


def tidy(element: ElementTree.Element, id: str, used: set[str]) -> None:
    """Attributes for style, variables for colours, ids of our own."""
    for declared in element.attrib.pop("style", "").split(";"):
        name, _, value = (part.strip() for part in declared.partition(":"))
        if name == "font":
            told = FONT.match(value)
            if told:
                element.attrib["font-size"] = told[2]
        elif name:
            element.attrib[name] = value
    if element.attrib.get("id") not in used:
        element.attrib.pop("id", None)
    else:
        element.attrib["id"] = f"{id}-{element.attrib['id']}"
    if element.attrib.get("transform", "").startswith("rotate(-0"):
        del element.attrib["transform"]
    if LINK in element.attrib:
        element.attrib["href"] = f"#{id}-{element.attrib.pop(LINK)[1:]}"
    for name, value in element.attrib.items():
        value = REFERENCE.sub(lambda found: f"url(#{id}-{found[1]})", value)
        element.attrib[name] = COLOURS.get(value, value)
    if element.text and not element.text.strip():
        element.text = None
    if element.tail and not element.tail.strip():
        element.tail = None
    if "d" in element.attrib:
        element.attrib["d"] = " ".join(element.attrib["d"].split())
