"""The published files against standards and readers that are not ours."""

from __future__ import annotations

import io
import itertools
import json
import re
import subprocess
import sys
import zipfile
from datetime import date
from functools import cache
from typing import Any

import jsonschema
import pytest
from pypdf import PdfReader

from bot import paths, report
from bot.processes import Failed
from bot.publish import faq, files, pdf, records, tags
from bot.publish.atoz import FOLDER
from bot.publish.guide import sheet
from rules.loader import load_texts, read_files
from tests.bot.conftest import ENVIRONMENT
from tests.bot.publish.asked import rules_in_force

BOOK = rules_in_force()
GUIDE_HEAD = "about: Print.\nowner: Office\nreviewed: 2026-11-16\nguide:\n  common:\n"
DAY = date(2026, 11, 29)

# RFC 4180, section 2, its grammar from memory: records of fields apart by commas, each ended by
# CR LF; a field with a quote, comma or line break is quoted, and a quote in it doubled.
FIELD = r'(?:"(?:[^"]|"")*"|[^",\r\n]*)'
RFC_4180 = re.compile(rf"(?:{FIELD}(?:,{FIELD})*\r\n)+")


@cache
def guide_of(district: str) -> PdfReader:
    return PdfReader(io.BytesIO(pdf.pdf(BOOK, district, DAY)))


def test_csv_is_as_rfc_4180_has_it_and_marked_as_utf_8():
    body = files.csv(BOOK, "tarnside", DAY)
    assert body.startswith(b"\xef\xbb\xbf")
    assert RFC_4180.fullmatch(body.decode("utf-8-sig"))


@pytest.mark.parametrize("start", ["=1+1", "+44", "-5", "@sum", "\tx", "\rx"])
def test_no_cell_is_a_formula(start):
    row = {name: ([start] if name in records.JOINED else start) for _, name in records.COLUMNS}
    text = records.as_csv([row]).decode("utf-8-sig")
    assert RFC_4180.fullmatch(text)
    cells = re.findall(FIELD, text.split("\r\n", 1)[1])
    filled = [c.strip('"') for c in cells if c.strip()]
    assert len(filled) == len(records.COLUMNS)
    assert all(c.startswith("'") for c in filled)


def test_json_is_as_its_schema_says():
    schema = json.loads(records.SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft7Validator.check_schema(schema)
    checker = jsonschema.Draft7Validator(schema, format_checker=jsonschema.FormatChecker())
    for district in BOOK.districts:
        told = json.loads(files.json(BOOK, district, DAY))
        assert list(checker.iter_errors(told)) == []
        assert (told["rules"], told["on"]) == (BOOK.version, "2026-11-29")
    spoilt = {**told, "lines": [{**told["lines"][0], "from": "tomorrow"}]}
    assert not checker.is_valid(spoilt)


# schema.org's FAQPage as search engines read it, from memory.
FAQ_PAGE = {
    "type": "object",
    "required": ["@context", "@type", "mainEntity"],
    "properties": {
        "@context": {"const": "https://schema.org"},
        "@type": {"const": "FAQPage"},
        "mainEntity": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "required": ["@type", "name", "acceptedAnswer"],
                "properties": {
                    "@type": {"const": "Question"},
                    "name": {"type": "string", "pattern": "\\?$"},
                    "acceptedAnswer": {
                        "type": "object",
                        "required": ["@type", "text"],
                        "properties": {
                            "@type": {"const": "Answer"},
                            "text": {"type": "string", "minLength": 1},
                        },
                    },
                },
            },
        },
    },
}


@pytest.mark.parametrize("district", BOOK.districts)
def test_questions_have_the_shape_of_a_faq_page(district):
    told = json.loads(files.faq_json(BOOK, district, DAY))
    jsonschema.validate(told, FAQ_PAGE)
    names = [q["name"] for q in told["mainEntity"]]
    assert len(set(names)) == len(names)


def test_snippet_cannot_end_its_element():
    data = {"text": "</script><script>alert(1)</script> & <!-- "}
    snippet = faq.snippet(data)
    assert snippet.count("<") == 2 and "&" not in snippet
    inside = snippet.split("\n", 1)[1].rsplit("</script>", 1)[0]
    assert json.loads(inside) == data


@pytest.mark.parametrize("district", BOOK.districts)
def test_tags_fit_and_name_every_container(district):
    text = files.tags_text(BOOK, district, DAY).decode()
    assert max(map(len, text.splitlines())) <= tags.WIDTH
    boxes = [c.name for c in BOOK.districts[district].containers if c.period.holds(DAY)]
    plain = " ".join(text.split())
    for tag, name in zip(tags.tags(BOOK, district, DAY), boxes, strict=True):
        assert tag["container"] == name
        assert name[0].upper() + name[1:] in plain
        for line in tag["lines"]:
            assert f"[ ] {line['what']}. {line['please']}" in plain
    longest = max(len(part.splitlines()) for part in text.split("=" * tags.WIDTH))
    assert longest <= 42, "about 20 cm in 9 point"


def test_what_belongs_but_is_spoilt_is_told_how_to_put_right():
    texts = read_files(paths.PROJECT / "rules" / "book")
    old = "- {item: cereal_box, when: {soiling: dirty}}"
    assert old in texts["guide.yml"]
    damp = "- {item: cereal_box, when: {moisture: damp}}"
    book = load_texts({**texts, "guide.yml": texts["guide.yml"].replace(old, damp)})
    told = [x for t in tags.tags(book, "pellbrook", DAY) for x in t["lines"]]
    (line,) = [x for x in told if x["item"] == "cereal_box"]
    assert line["container"] == "grey bin with a yellow lid" and line["please"] == "Dry it first."


# ---- the guide


@pytest.mark.parametrize("district", BOOK.districts)
def test_guide_is_two_tagged_a4_pages_in_english(district):
    reader = guide_of(district)
    assert len(reader.pages) == 2
    for page in reader.pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx((595.28, 841.89), abs=0.1)  # 210 by 297 mm, ISO 216
        assert page["/StructParents"] >= 0 and page["/Tabs"] == "/S"
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata and BOOK.districts[district].name in str(reader.metadata.title)
    # ISO 14289-1 marks a document that claims to be PDF/UA-1 so in its metadata.
    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r"<pdfuaid:part>1</pdfuaid:part>|pdfuaid:part=\"1\"", xmp)


@pytest.mark.parametrize("district", BOOK.districts)
def test_guides_headings_are_tagged_in_order(district):
    found: list[int] = []

    def walk(node: Any) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for one in node:
                walk(one)
        elif isinstance(node, dict):
            kind = str(node.get("/S", ""))
            if re.fullmatch(r"/H[1-6]", kind):
                found.append(int(kind[2]))
            if "/K" in node:
                walk(node["/K"])

    root: Any = guide_of(district).trailer["/Root"]
    walk(root["/StructTreeRoot"]["/K"])
    assert found[0] == 1 and found.count(1) == 2
    assert all(b - a <= 1 for a, b in itertools.pairwise(found))
    cards = len(sheet(BOOK, district, DAY).cards)
    assert len(found) >= cards + 5


@pytest.mark.parametrize("district", BOOK.districts)
def test_guides_fonts_are_inside(district):
    for page in guide_of(district).pages:
        fonts: Any = page["/Resources"]["/Font"]
        for font in fonts.values():
            below = font.get_object()["/DescendantFonts"][0].get_object()
            told = below["/FontDescriptor"].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(told), told
            assert "Lato" in told["/FontName"]
            assert "/ToUnicode" in font.get_object()


@pytest.mark.parametrize("district", BOOK.districts)
def test_guides_text_is_real_and_stands_under_its_place(district):
    """Each card's things are read between its heading and the next."""
    first, second = (" ".join(p.extract_text().split()) for p in guide_of(district).pages)
    made = sheet(BOOK, district, DAY)
    names = [c.container.name[0].upper() + c.container.name[1:] for c in made.cards]
    starts = [first.index(f"{n} {c.streams}") for n, c in zip(names, made.cards, strict=True)]
    assert starts == sorted(starts)
    for card, start, end in zip(made.cards, starts, [*starts[1:], len(first)], strict=True):
        part = first[start:end]
        for words in (*(e.words for e in card.entries), card.takes, card.refuses, *card.notes):
            assert squeezed(words) in squeezed(part), words
    for group in (*made.never, *made.elsewhere):
        assert squeezed(group.where) in squeezed(second)
        for entry in group.entries:
            assert squeezed(entry.words) in squeezed(second), entry.words
    centres = [c for c in BOOK.centres.values() if c.district == district]
    told = [t for c in centres for t in (c.name, c.address, *c.hours)]
    for words in (*made.changes, BOOK.scheme.phone, *told):
        assert squeezed(words) in squeezed(second), words


def squeezed(text: str) -> str:
    """Text without spaces and in small letters: a reader may part a line anywhere."""
    return "".join(text.lower().split())


def test_guides_colours_are_told_apart_in_grey():
    """Contrast is of luminance alone (WCAG 2.2, 1.4.3), so it is what is left on a grey printer."""
    source = (FOLDER / "guide.typ").read_text(encoding="utf-8")
    colours = dict(
        re.findall(r'#let (ink|band|soft|line-colour) = rgb\("(#[0-9a-f]{6})"\)', source)
    )
    assert set(colours) == {"ink", "band", "soft", "line-colour"}
    for name in ("ink", "band", "soft"):
        assert contrast(colours[name], "#ffffff") >= 7
    assert contrast(colours["line-colour"], "#ffffff") >= 3
    # No other colour is set in the template: what has one is a drawing, and its name is beside it.
    assert len(re.findall(r"rgb\(", source)) == 4 and not re.search(
        r"fill: (red|green|blue)", source
    )


def contrast(one: str, other: str) -> float:
    """The ratio of WCAG 2.2: relative luminances, each with 0.05 of stray light."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_guide_that_is_too_full_says_where_to_shorten():
    texts = read_files(paths.PROJECT / "rules" / "book")
    assert BOOK.guide
    more = "".join(f"    - {i}\n" for i in BOOK.items if i not in BOOK.guide.common)
    full = texts["guide.yml"].replace("  common:\n", f"  common:\n{more}")
    with pytest.raises(Failed, match=r"does not fit on two pages.*'common' \(guide.yml, line"):
        pdf.pdf(load_texts({**texts, "guide.yml": full}), "oxmere", DAY)


def test_check_tells_of_a_guide_that_is_too_full():
    texts = read_files(paths.PROJECT / "rules" / "book")
    said: list[str] = []
    assert report.guide(BOOK, said.append) and "fits its two pages" in said[0]
    many = "".join(f"    - {i}\n" for i in BOOK.items)
    tags_on = texts["guide.yml"].index("  tags:")
    full = f"{GUIDE_HEAD}{many}{texts['guide.yml'][tags_on:]}"
    assert not report.guide(load_texts({**texts, "guide.yml": full}), said.append)
    assert "does not fit on two pages" in said[1]


def test_book_without_a_guide_says_what_to_add():
    texts = read_files(paths.PROJECT / "rules" / "book")
    del texts["guide.yml"]
    with pytest.raises(Failed, match="Add a file with 'guide:'"):
        pdf.pdf(load_texts(texts), "oxmere", DAY)


# ---- the same rules, the same day, the same bytes

HASHES = """
import json
from datetime import date
from bot.publish import files
from rules import load
made = files.files(load(), date(2026, 11, 29), ["oxmere"])
zipped = {"zip": files.packed(made)}
print(json.dumps(files.sums({**made, **zipped})))
"""


def test_same_bytes_in_another_process():
    """With another order of hashes, in another time zone, language and folder."""
    outputs = []
    for seed, zone, words in (("1", "Pacific/Kiritimati", "C"), ("2", "America/Adak", "C.UTF-8")):
        more = {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": words,
                "PYTHONPATH": str(paths.PROJECT), "SOURCE_DATE_EPOCH": seed}  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-c", HASHES], env={**ENVIRONMENT, **more}, cwd="/",
            capture_output=True, text=True, timeout=300, check=True,
        )  # fmt: skip
        outputs.append(json.loads(done.stdout))
    assert outputs[0] == outputs[1]
    assert len(outputs[0]) == 10


def test_zip_is_read_by_another_reader_and_holds_no_time():
    made = {"b/two.txt": b"2" * 1000, "a.txt": b"1"}
    body = files.packed(made)
    assert body == files.packed(dict(reversed(made.items())))
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        assert archive.testzip() is None
        assert {i.filename: i.date_time for i in archive.infolist()} == dict.fromkeys(
            sorted(made), (1980, 1, 1, 0, 0, 0)
        )
