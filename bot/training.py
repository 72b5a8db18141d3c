"""Trains the language model, and tells whether the one there is still fits."""

from __future__ import annotations

import hashlib
from pathlib import Path

from actions.current import SHELF
from bot import paths, templates

STAMP = "trained-from"


def sources() -> list[Path]:
    """The files a model is made from. The rule files are not among them: a changed rule needs no
    training."""
    return sorted(
        [
            paths.CONFIG,
            paths.DOMAIN,
            paths.RULES,
            *paths.TRAINING.glob("*.yml"),
            *paths.LANGUAGE.glob("*.py"),
            *(paths.PROJECT / "bot" / "components").glob("*.py"),
            paths.PROJECT / "bot" / "templates.py",
        ]
    )


def fingerprint() -> str:
    """A hash of the sources' names and bytes."""
    digest = hashlib.sha256()
    for path in sources():
        digest.update(path.relative_to(paths.PROJECT).as_posix().encode() + b"\0")
        digest.update(path.read_bytes() + b"\0")
    return digest.hexdigest()


def model_file(data: Path) -> Path:
    """The place of the model in a data folder."""
    return data / "models" / "lidwise.tar.gz"


def is_current(data: Path) -> bool:
    """Whether there is a model made from the sources as they are."""
    stamp = data / "models" / STAMP
    return (
        model_file(data).exists()
        and stamp.exists()
        and stamp.read_text(encoding="utf-8") == fingerprint()
    )


def train(data: Path) -> Path:
    """Train a model into a data folder and return its path. Takes about half a minute."""
    from rasa.model_training import train as rasa_train

    made_from = fingerprint()
    folder = data / "models"
    folder.mkdir(parents=True, exist_ok=True)
    by_hand = sorted(paths.TRAINING.glob("*.yml"))
    training = [str(p) for p in by_hand if "\nnlu:" in p.read_text(encoding="utf-8")]
    training.append(str(templates.write(SHELF.current(), folder / "from-templates.yml")))
    result = rasa_train(
        domain=str(paths.DOMAIN),
        config=str(paths.CONFIG),
        training_files=[*training, str(paths.RULES)],
        output=str(folder),
        fixed_model_name="lidwise",
        force_training=True,
    )
    if result.code != 0 or not result.model:
        raise RuntimeError("Training failed; the messages above say why.")
    (folder / STAMP).write_text(made_from, encoding="utf-8")
    return Path(result.model)
