"""Hostile and broken submissions: what is done to a folder, and what it earns.

Every case starts from a folder with right answers. ``earns`` is "all" when a right answer must not
be lost, "none" when nothing may be credited, "part" when what can be read counts. ``says`` is a
part of the sentence that must be told, or nothing where nothing is wrong with the answers.
"""

from __future__ import annotations

import json
import os
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

UNIT = "1_setup_order"
NAME = f"{UNIT}.answers.jsonl"
MARK = "<script>alert(1)</script>"


@dataclass(frozen=True, slots=True)
class Case:
    """One submission that is not as it should be."""

    does: Callable[[Path], None]
    earns: str
    says: str = ""


def lines(folder: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in (folder / NAME).read_text().splitlines()]


def write(folder: Path, rows: list[Any]) -> None:
    text = "\n".join(row if isinstance(row, str) else json.dumps(row) for row in rows)
    (folder / NAME).write_text(text + "\n")


def answers(change: Callable[[dict[str, Any]], Any]) -> Callable[[Path], None]:
    """Return what puts another value in place of every answer."""

    def does(folder: Path) -> None:
        head, *rest = lines(folder)
        write(folder, [head, *({**row, "value": change(row)} for row in rest)])

    return does


def header(**told: Any) -> Callable[[Path], None]:
    def does(folder: Path) -> None:
        head, *rest = lines(folder)
        write(folder, [{**head, **told}, *rest])

    return does


def added(*rows: Any) -> Callable[[Path], None]:
    return lambda folder: write(folder, [*lines(folder), *rows])


def data(change: Callable[[bytes], bytes]) -> Callable[[Path], None]:
    def does(folder: Path) -> None:
        path = folder / NAME
        path.write_bytes(change(path.read_bytes()))

    return does


def instead(make: Callable[[Path], Any]) -> Callable[[Path], None]:
    def does(folder: Path) -> None:
        (folder / NAME).unlink()
        make(folder / NAME)

    return does


def at(text: str) -> Callable[[Path], None]:
    """Return what leaves a time of its own making."""
    return lambda folder: (folder / "timestamp.txt").write_text(text, encoding="utf-8")


def clock_is(make: Callable[[Path], Any]) -> Callable[[Path], None]:
    def does(folder: Path) -> None:
        (folder / "timestamp.txt").unlink(missing_ok=True)
        make(folder / "timestamp.txt")

    return does


def socket_at(path: Path) -> None:
    """Leave a socket; its name may be no longer than a socket's may be, so it is made near."""
    here = os.open(path.parent, os.O_RDONLY)
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(f"/proc/self/fd/{here}/{path.name}")
    finally:
        os.close(here)


def page(change: Callable[[dict[str, Any]], None]) -> Callable[[Path], None]:
    def does(folder: Path) -> None:
        path = folder / f"{UNIT}.ipynb"
        notebook = json.loads(path.read_text())
        change(notebook)
        path.write_text(json.dumps(notebook))

    return does


def fake_checker(folder: Path) -> None:
    """Leave modules and start-up files that would say yes, beside answers that are wrong."""
    answers(lambda row: "yes")(folder)
    (folder / "graders").mkdir()
    for name in ("graders/__init__.py", "graders/marking.py", "sitecustomize.py", "conftest.py"):
        (folder / name).write_text("raise SystemExit('this must never run')\n")
    (folder / "answers.pickle").write_bytes(b"cos\nsystem\n(S'touch owned'\ntR.")


def twice(notebook: dict[str, Any]) -> None:
    notebook["cells"] += notebook["cells"]


def more_points(notebook: dict[str, Any]) -> None:
    for cell in notebook["cells"]:
        if "points" in cell["metadata"].get("nbgrader", {}):
            cell["metadata"]["nbgrader"]["points"] = 1000


def bench(**changed: Any) -> Callable[[Path], None]:
    """Return what changes the run at the bench only."""

    def does(folder: Path) -> None:
        head, *rest = lines(folder)
        for row in rest:
            if row["question"] == "bench":
                row["value"] = {**row["value"], **changed}
        write(folder, [head, *rest])

    return does


DEEP = '{"n": 3, "question": "order", "value": ' + "[" * 20_000 + "]" * 20_000 + "}"
LINE = {"n": 99, "question": "order", "at": "", "client": "", "seq": 0}

CASES: dict[str, Case] = {
    "fake-checker": Case(fake_checker, "none"),
    "cells-deleted": Case(page(lambda nb: nb["cells"].clear()), "all"),
    "cells-twice": Case(page(twice), "all"),
    "points-changed": Case(page(more_points), "all"),
    "page-future-format": Case(page(lambda nb: nb.update(nbformat=99)), "all"),
    "page-cut": Case(lambda f: (f / f"{UNIT}.ipynb").write_text('{"cells": ['), "all"),
    "page-gone": Case(lambda f: (f / f"{UNIT}.ipynb").unlink(), "all"),
    "page-pipe": Case(
        lambda f: ((f / f"{UNIT}.ipynb").unlink(), os.mkfifo(f / f"{UNIT}.ipynb"))[0], "all"
    ),
    "another-learner": Case(header(learner="neighbour"), "none", "learner 'neighbour'"),
    "another-course": Case(header(course="june"), "none", "course 'june'"),
    "another-unit": Case(header(exercise="9_other"), "none", "exercise '9_other'"),
    "another-edition": Case(header(edition="erc-2015"), "none", "edition 'erc-2015'"),
    "id-climbs": Case(header(learner="../../etc/passwd"), "none", "learner '../../etc/passwd'"),
    "unit-climbs": Case(header(exercise="../../gradebook"), "none", "exercise '../../gradebook'"),
    "format-future": Case(header(format="tpiece-answers/9"), "none", "format tpiece-answers/9"),
    "format-strange": Case(header(format=["tpiece-answers/1"]), "none", "not the head"),
    "head-is-a-list": Case(lambda f: write(f, ["[]", *lines(f)[1:]]), "none", "not the head"),
    "head-gone": Case(lambda f: write(f, lines(f)[1:]), "none", "not the head"),
    "head-only": Case(lambda f: write(f, lines(f)[:1]), "none"),
    "empty": Case(lambda f: (f / NAME).write_bytes(b""), "none", "not the head"),
    "gone": Case(lambda f: (f / NAME).unlink(), "none", "is missing"),
    "folder": Case(instead(lambda p: p.mkdir()), "none", "is missing"),
    "pipe": Case(instead(lambda p: os.mkfifo(p)), "none", "is missing"),
    "link-out": Case(instead(lambda p: p.symlink_to("/etc/hostname")), "none", "is missing"),
    "link-to-neighbour": Case(
        instead(lambda p: p.symlink_to(f"../../whole/{UNIT}/{NAME}")), "none", "is missing"
    ),
    "link-loop": Case(instead(lambda p: p.symlink_to(NAME)), "none", "is missing"),
    "fifty-megabytes": Case(
        data(lambda b: b + b'{"x": "' + b"y" * (50 * 2**20) + b'"}\n'), "none", "50 MB"
    ),
    "long-line": Case(added({**LINE, "value": "y" * 100_000}), "all", "cannot be read"),
    "many-lines": Case(data(lambda b: b + b"\n" * (2**20)), "all"),
    "many-bad-lines": Case(data(lambda b: b + b"x\n" * 200_000), "all", "cannot be read"),
    "deep": Case(added(DEEP), "all", "cannot be read"),
    "cut": Case(data(lambda b: b[:-200]), "part", "cannot be read"),
    "cut-in-a-letter": Case(data(lambda b: b + '{"n": "é'.encode()[:-1]), "all", "cannot be read"),
    "not-utf-8": Case(data(lambda b: b + b'{"n": 5, "value": "\xff\xfe"}\n'), "all", "cannot be"),
    "utf-16": Case(data(lambda b: b.decode().encode("utf-16")), "all"),
    "utf-16-big": Case(data(lambda b: b"\xfe\xff" + b.decode().encode("utf-16-be")), "all"),
    "utf-16-cut": Case(data(lambda b: b.decode().encode("utf-16")[:-301]), "part", "cannot be"),
    "byte-order-mark": Case(data(lambda b: b"\xef\xbb\xbf" + b), "all"),
    "windows-lines": Case(data(lambda b: b.replace(b"\n", b"\r\n")), "all"),
    "null-bytes": Case(data(lambda b: b + b"\0" * 1000 + b"\n"), "all", "cannot be read"),
    "not-a-number": Case(added('{"n": 9, "question": "order", "value": NaN}'), "all", "cannot"),
    "infinite": Case(added('{"n": 9, "question": "order", "value": -Infinity}'), "all", "cannot"),
    "huge-whole-number": Case(
        added('{"n": 1' + "0" * 6000 + ', "question": "order", "value": 1}'), "all", "cannot"
    ),
    "number-too-large": Case(
        answers(lambda r: {"text": "1e999", "unit": "cmH2O"} if "gauge" in r["question"] else 3),
        "none",
        "",
    ),
    "unit-of-heat": Case(
        answers(lambda r: {"text": "25", "unit": "degC"} if "gauge" in r["question"] else 3), "none"
    ),
    "lists-for-words": Case(answers(lambda row: [[["nothing"]]] * 50), "none"),
    "tables-for-words": Case(answers(lambda row: {"id": "nothing", "__class__": "Yes"}), "none"),
    "true-for-all": Case(answers(lambda row: True), "none"),
    "null-for-all": Case(answers(lambda row: None), "none"),
    "markup": Case(answers(lambda row: MARK), "none"),
    "formula": Case(answers(lambda row: "=cmd|'/c calc'!A0"), "none"),
    "lone-surrogate": Case(
        lambda f: write(f, [*lines(f), '{"n": 9, "question": "reason", "value": "\\ud800"}']),
        "part",
    ),
    "unknown-questions": Case(
        added(*({**LINE, "question": f"q{n}", "value": 1} for n in range(50))), "all", "do not"
    ),
    "ids-of-nobody": Case(added({**LINE, "n": -5, "question": "order"}), "all", "cannot be read"),
    **{
        f"clock-{n}": Case(at(text), "all")
        for n, text in enumerate(
            (
                "2026-W48-6",
                "2026-W48",
                "2026-333",
                "20261128",
                "0001-01-01 00:00:00+14:00",
                "0001-01-01 00:00:00 UTC",
                "1969-12-31 23:59:59 UTC",
                "9999-12-31T23:59:59-14:00",
                "9999-12-31 23:59:59.999999 UTC",
                "2026-02-30 10:00:00 UTC",
                "2026-11-28 24:00:00",
                "2026-11-28 10:00:60",
                "2026-11-28T10:00:00+99:99",
                "2026-11-28 10:00 CEST",
                "٢٠٢٦-١١-٢٨ ١٠:٠٠:٠٠",
                "\x1b[2J",
                "",
                "\ufeff2026-11-28 10:00:00 UTC",
            )
        )
    },
    "clock-utf-16": Case(
        lambda f: (f / "timestamp.txt").write_bytes("2026-11-28 10:00:00 UTC".encode("utf-16")),
        "all",
    ),
    "clock-pipe": Case(clock_is(lambda p: os.mkfifo(p)), "all"),
    "clock-folder": Case(clock_is(lambda p: p.mkdir()), "all"),
    "clock-endless": Case(clock_is(lambda p: p.symlink_to("/dev/zero")), "all"),
    "link-endless": Case(instead(lambda p: p.symlink_to("/dev/zero")), "none", "is missing"),
    "socket": Case(instead(socket_at), "none", "is missing"),
    "steering": Case(answers(lambda row: "\x1b[2J\x9b31m\u202e\x07"), "none"),
    "clock-ahead": Case(
        lambda f: (f / "timestamp.txt").write_text("9999-12-31 23:59:59.000 UTC"), "all"
    ),
    "clock-nonsense": Case(lambda f: (f / "timestamp.txt").write_text("=1+1; soon"), "all"),
    "clock-huge": Case(lambda f: (f / "timestamp.txt").write_bytes(b"9" * 10**6), "all"),
    "clock-linked": Case(lambda f: (f / "timestamp.txt").symlink_to("/etc/hostname"), "all"),
    "bench-backwards": Case(bench(actions=[[5, "cap"], [1, "open"]]), "part"),
    "bench-an-hour": Case(bench(duration=3600.0), "part"),
    "bench-endless": Case(bench(actions=[[1, "occlude"], [1, "release"]] * 1500), "part"),
    "bench-impossible": Case(bench(actions=[[1, "pip", 10**9]]), "part"),
    "bench-of-words": Case(bench(actions="=HYPERLINK()"), "part"),
    "bench-future": Case(bench(version=2), "part"),
}
STRANGE_NAMES = ("x[1]", ".hidden", "a b", "-rf", "%2e%2e", "é")
