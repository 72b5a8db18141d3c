"""YAML with the line of every value kept, so that a mistake can be pointed at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import yaml

FAST: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The safe loader built on libyaml where PyYAML was built with it: eight times as fast."""

Path = tuple[str | int, ...]

MOST_VALUES = 100_000
"""Values one file may hold. A few lines of aliases can unfold to any number."""

LONGEST_NUMBER = 20
"""Figures of a number. Python refuses to read one of some thousand; it stays a text here."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """Something wrong in a rule file: where, what, and how to put it right."""

    file: str
    line: int
    what: str
    cure: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.what}. {self.cure}"


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed file: plain data (dates stay strings) and the line of each path in it."""

    file: str
    data: Any
    lines: dict[Path, int]

    def line(self, path: Sequence[str | int]) -> int:
        """Line of a value, or of the nearest thing around it."""
        key = tuple(path)
        while key and key not in self.lines:
            key = key[:-1]
        return self.lines.get(key, 1)


def parse(file: str, text: str) -> tuple[Document, list[Mistake]]:
    """Read YAML safely.

    Only plain values are built (no tags), and a key given twice is a mistake, because YAML would
    drop the first without a word.
    """
    mistakes: list[Mistake] = []
    lines: dict[Path, int] = {}
    built = 0
    too_deep = Mistake(file, 1, "nested too deep", "Close the brackets, or check the indentation")
    try:
        root = yaml.compose(text, Loader=FAST)
    except RecursionError:
        return Document(file, {}, {}), [too_deep]
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        problem = getattr(error, "problem", None) or "a character that YAML does not allow"
        cure = "Check the indentation, and put texts that hold a colon or a quote in quotes"
        line = mark.line + 1 if mark else 1
        return Document(file, {}, {}), [Mistake(file, line, f"not valid YAML: {problem}", cure)]

    def build(node: yaml.Node | None, path: Path, above: frozenset[int]) -> Any:
        nonlocal built
        built += 1
        if node is None or built > MOST_VALUES:
            return None
        line = node.start_mark.line + 1
        lines.setdefault(path, line)
        if id(node) in above:
            mistakes.append(Mistake(file, line, "a value that holds itself", "Remove the alias"))
            return None
        above = above | {id(node)}
        if isinstance(node, yaml.MappingNode):
            result: dict[Any, Any] = {}
            for key_node, value_node in node.value:
                key_line = key_node.start_mark.line + 1
                if not isinstance(key_node, yaml.ScalarNode):
                    mistakes.append(
                        Mistake(file, key_line, "a key that is not a word", "Use a plain word")
                    )
                    continue
                key = key_node.value
                here = (*path, key)
                if key in result:
                    first = lines[here]
                    what = f"'{key}' is given twice here (first on line {first})"
                    mistakes.append(Mistake(file, key_line, what, "Keep one of the two"))
                    continue
                lines[here] = key_line
                result[key] = build(value_node, here, above)
            return result
        if isinstance(node, yaml.SequenceNode):
            return [build(child, (*path, i), above) for i, child in enumerate(node.value)]
        return scalar(node)

    def scalar(node: yaml.Node) -> Any:
        value = node.value
        if node.tag == "tag:yaml.org,2002:null":
            return None
        if node.tag == "tag:yaml.org,2002:bool" and value.lower() in ("true", "false"):
            return value.lower() == "true"
        figures = value.lstrip("+-")
        if (
            node.tag == "tag:yaml.org,2002:int"
            and figures.isdigit()
            and len(figures) < LONGEST_NUMBER
        ):
            return int(value)
        return value

    try:
        data = build(root, (), frozenset())
    except RecursionError:
        return Document(file, {}, {}), [too_deep]
    if built > MOST_VALUES:
        what = f"too many values (over {MOST_VALUES})"
        return Document(file, {}, {}), [
            Mistake(file, 1, what, "Remove the aliases (*), or split it")
        ]
    return Document(file, data, lines), mistakes
