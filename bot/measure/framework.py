"""Trains the framework's default pipeline on the same examples, for comparison.

The default pipeline needs each thing and condition marked in its examples. They are marked where
our own reader finds them, so that both learn from the same words.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from typing import Any

import yaml

from actions.current import SHELF
from bot import paths, templates
from bot.language.lexicon import build
from bot.language.reader import Reader
from bot.language.words import fold

CONFIG = Path(__file__).with_name("framework.yml")
MARKED = re.compile(r"\[([^\]]*)\]\([^)]*\)")
EXAMPLE = re.compile(r"^- (.*)$", re.MULTILINE)


def marked(text: str, reader: Reader) -> str:
    """An example with the things, conditions and places the reader finds in it marked."""
    if MARKED.search(text):
        return text
    findings = reader.read(fold(text))
    spans: list[tuple[int, int, str]] = []
    kinds = {"item": "thing", "district": "place", "container": "place", "centre": "place"}
    for found in (*findings.names, *findings.facts):
        kind = kinds.get(found.target.kind, "state")
        start = findings.words[found.first].start
        end = findings.words[found.last - 1].end
        if all(end <= s or e <= start for s, e, _ in spans):
            spans.append((start, end, kind))
    for start, end, kind in sorted(spans, reverse=True):
        text = f"{text[:start]}[{text[start:end]}]({kind}){text[end:]}"
    return text


def examples() -> dict[str, list[str]]:
    """Every training example by intent, as our own pipeline is given them."""
    found: dict[str, list[str]] = {
        k: list(v) for k, v in templates.expanded(SHELF.current()).items()
    }
    for path in sorted(paths.TRAINING.glob("*.yml")):
        data: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
        for entry in data.get("nlu") or []:
            found.setdefault(entry["intent"], []).extend(EXAMPLE.findall(entry["examples"]))
    return found


def write(folder: Path) -> Path:
    """Write the marked examples as training data of the framework."""
    reader = Reader(build(SHELF.current()), frozenset(), frozenset())
    nlu = [
        {"intent": intent, "examples": "".join(f"- {marked(t, reader)}\n" for t in texts)}
        for intent, texts in examples().items()
    ]
    path = folder / "framework.yml"
    path.write_text(yaml.safe_dump({"version": "3.1", "nlu": nlu}, width=10**6), encoding="utf-8")
    return path


def trained(data: Path) -> Path:
    """The trained model's path; trains it, for many minutes, if examples or settings are new."""
    from rasa.model_training import train

    folder = data / "measure"
    folder.mkdir(parents=True, exist_ok=True)
    training = write(folder)
    sources = (CONFIG, paths.DOMAIN, paths.RULES, training)
    stamp = hashlib.sha256(b"".join(p.read_bytes() for p in sources)).hexdigest()[:16]
    model = folder / f"framework-{stamp}.tar.gz"
    if not model.exists():
        domain = yaml.safe_load(paths.DOMAIN.read_text(encoding="utf-8"))
        domain["entities"] = [*(domain.get("entities") or []), "thing", "state", "place"]
        domain["entities"].append("unknown_item")
        domain["entities"] = [
            e for n, e in enumerate(domain["entities"]) if e not in domain["entities"][:n]
        ]
        own = folder / "domain.yml"
        own.write_text(yaml.safe_dump(domain), encoding="utf-8")
        result = train(
            domain=str(own),
            config=str(CONFIG),
            training_files=[str(training), str(paths.RULES)],
            output=str(folder),
            fixed_model_name=model.name.removesuffix(".tar.gz"),
        )
        if result.code != 0:
            raise RuntimeError("The framework's default pipeline could not be trained.")
    return model
