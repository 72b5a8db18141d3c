"""Trains the language model, and tells whether the one there is still fits."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

from actions.current import SHELF
from bot import lean, paths, templates
from bot.processes import Failed

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
            *paths.TRAINING.glob("*.txt"),
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


def train_apart(data: Path) -> None:
    """Train in a process of its own, so that this one stays small. Raises `Failed`."""
    log = data / "logs" / "training.log"
    log.parent.mkdir(parents=True, exist_ok=True)
    with log.open("wb") as out:
        process = subprocess.Popen(
            [sys.executable, "-m", "bot.training", str(data.resolve())],
            stdin=subprocess.PIPE,
            stdout=out,
            stderr=out,
            cwd=paths.PROJECT,
            env={**lean.SETTINGS, **os.environ},
            start_new_session=True,
        )
        try:
            code = process.wait()
        except BaseException:
            process.kill()
            process.wait()
            raise
    if code != 0:
        raise Failed(f"The language model could not be trained. {log} says why.")


if __name__ == "__main__":
    from bot import background, logs

    background.stop_with_parent()
    logs.configure()
    train(Path(sys.argv[1]))
