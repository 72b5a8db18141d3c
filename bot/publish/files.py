"""Every file that is published, by its path: the same bytes for the same rules and the same day."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from bot.publish import atoz, faq, pdf, records, tags
from rules.model import Book

Make = Callable[[Book, str, date], bytes]


@dataclass(frozen=True, slots=True)
class Kind:
    """A file each district has. `{}` in the path stands for the district's id."""

    id: str
    path: str
    title: str
    type: str
    make: Make

    def of(self, district: str) -> str:
        """A district's path."""
        return self.path.format(district)


def csv(book: Book, district: str, day: date) -> bytes:
    """The A to Z as a spreadsheet reads it."""
    return records.as_csv(records.records(book, district, day))


def json(book: Book, district: str, day: date) -> bytes:
    """The A to Z as a program reads it."""
    return records.as_json(records.document(book, district, day))


def faq_json(book: Book, district: str, day: date) -> bytes:
    """The questions for the council's page."""
    return records.as_json(faq.faq(book, district, day))


def tags_text(book: Book, district: str, day: date) -> bytes:
    """The bin tags as text."""
    return tags.text(book, district, day).encode()


def tags_json(book: Book, district: str, day: date) -> bytes:
    """The bin tags as a program reads them."""
    made = {
        "district": {"id": district, "name": book.districts[district].name},
        "on": day.isoformat(),
        "rules": book.version,
        "tags": tags.tags(book, district, day),
    }
    return records.as_json(made)


JSON = "application/json; charset=utf-8"
KINDS = (
    Kind("a-to-z", "a-to-z/{}.html", "A to Z", "text/html; charset=utf-8", atoz.page),
    Kind("guide", "guide/{}.pdf", "Two-page guide (PDF)", "application/pdf", pdf.pdf),
    Kind("csv", "a-to-z/{}.csv", "A to Z as a spreadsheet (CSV)", "text/csv; charset=utf-8", csv),
    Kind("json", "a-to-z/{}.json", "A to Z as data (JSON)", JSON, json),
    Kind("faq", "faq/{}.json", "Questions for the council's page (JSON-LD)", JSON, faq_json),
    Kind("tags", "tags/{}.txt", "Bin tags (text)", "text/plain; charset=utf-8", tags_text),
    Kind("tags-json", "tags/{}.json", "Bin tags as data (JSON)", JSON, tags_json),
)
SCHEMA = "a-to-z/a-to-z.schema.json"
INDEX = "index.html"
MANIFEST = "manifest.json"


def files(book: Book, day: date, districts: Iterable[str] | None = None) -> dict[str, bytes]:
    """All files but the manifest, in the order of their paths. Raises `Failed` as `pdf` does."""
    chosen = list(book.districts) if districts is None else list(districts)
    made = {
        kind.of(district): kind.make(book, district, day) for district in chosen for kind in KINDS
    }
    made[SCHEMA] = records.SCHEMA.read_bytes()
    made[INDEX] = index(book, day, chosen)
    return dict(sorted(made.items()))


def index(book: Book, day: date, districts: Iterable[str]) -> bytes:
    """The page that links to all."""
    made = (
        atoz.templates()
        .get_template("index.html")
        .render(
            scheme=book.scheme,
            day=atoz.plain_day(day),
            version=book.version,
            style=atoz.Markup((atoz.paths.WEB / "pages.css").read_text(encoding="utf-8")),
            districts=[
                (book.districts[d].name, [(k.title, k.of(d)) for k in KINDS])
                for d in sorted(districts)
            ],
            schema=SCHEMA,
            manifest=MANIFEST,
        )
    )
    return made.encode()


def sums(made: Mapping[str, bytes]) -> dict[str, str]:
    """The SHA-256 of each file, by its path."""
    return {name: hashlib.sha256(made[name]).hexdigest() for name in sorted(made)}


def manifest(
    book: Book,
    day: date,
    districts: Iterable[str],
    listed: Mapping[str, str],
    complete: bool = True,
) -> bytes:
    """What was published from what. `complete` is false while files are being written."""
    return records.as_json(
        {
            "made_by": "lidwise",
            "complete": complete,
            "rules": book.version,
            "on": day.isoformat(),
            "districts": sorted(districts),
            "files": dict(sorted(listed.items())),
        }
    )


def packed(made: Mapping[str, bytes]) -> bytes:
    """Files as one zip, the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name in sorted(made):
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type, entry.create_system = zipfile.ZIP_DEFLATED, 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, made[name])
    return out.getvalue()
