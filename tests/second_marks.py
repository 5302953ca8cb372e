"""What makes an act critical, typed a second time, and how the data differ from it.

Needs of a procedure, hazards of the watch, slips of the markers, points, sources and the
coefficients of the model: each ``*_differ`` function returns in words where they part.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.second_table import FIGURE, Tables, cells, lines
from workbook.physics import coefficients
from workbook.physics.coefficients import Coefficient

GRADERS = Path(__file__).parent.parent / "graders"
WATCH = GRADERS / "watch" / "watch.toml"


def read(path: Path) -> dict[str, Any]:
    """Return a file of tables as it stands."""
    return tomllib.loads(path.read_text("utf-8"))


def blocks(name: str) -> dict[str, dict[str, str]]:
    """Return the rows of a table of two columns, by the head of their block."""
    made: dict[str, dict[str, str]] = {}
    head = ""
    for line in lines(name):
        if line.startswith("["):
            head = line[1 : line.index("]")]
            continue
        key, says = cells(line)
        assert key not in made.setdefault(head, {}), line
        made[head][key] = says
    return made


def parted(ours: Mapping[str, object], theirs: Mapping[str, object]) -> list[str]:
    """Return in words where the data differ from what was typed; nothing if they agree."""
    return [
        f"{key}: {theirs.get(key)} and, a second time, {ours.get(key)}"
        for key in sorted(ours.keys() | theirs.keys())
        if ours.get(key) != theirs.get(key)
    ]


def needs_differ(procedures: Tables) -> list[str]:
    """Return where the needs of setting up differ, with what is critical; no check has any."""
    ours = {step: frozenset(says.split()) - {"-"} for step, says in blocks("needs")[""].items()}
    theirs = {step["id"]: _needs(step) for step in procedures["set-up"]["step"]}
    others = {
        f"{procedure} {step['id']}": _needs(step)
        for procedure, table in procedures.items()
        for step in table["step"]
        if procedure != "set-up" and "needs" in step
    }
    return parted(ours, {**theirs, **others})


def _needs(step: Mapping[str, Any]) -> frozenset[str]:
    needs = step.get("needs", ())
    return frozenset(f"{need['step']}{'!' * need.get('critical', False)}" for need in needs)


def watch_differs(watch: Tables) -> list[str]:
    """Return where the hazards of the watch, their rules or their points differ."""
    ours = {key: says if "." in says else float(says) for key, says in blocks("watch")[""].items()}
    rules = {key: hazard["rule"] for key, hazard in watch["hazard"].items()}
    return parted(ours, {**rules, **watch["worth"]})


def slips_differ(unit: str, key: Tables) -> list[str]:
    """Return where a unit's slips differ in what harms and what keeps half of its points."""
    ours = {slip: set(says.split()) for slip, says in blocks("slips")[unit].items()}
    theirs = {
        slip: {flag for flag, value in says.items() if value is True}
        for slip, says in key["slip"].items()
    }
    return parted(ours, {slip: flags for slip, flags in theirs.items() if flags})


def harmful() -> dict[str, dict[str, list[str]]]:
    """Return the choices that could harm, as the markers' files have them, by their block."""
    units = GRADERS / "units"
    sizing = read(units / "sizing" / "key.toml")["critical"]
    targets = read(units / "targets" / "heart_and_chest.toml")
    setup = read(units / "setup" / "key.toml")
    return {
        "sizing/key": {
            f"{question} {choice}": situations
            for question, choices in sizing.items()
            for choice, situations in choices.items()
        },
        "targets/seal": targets["seal"]["critical"],
        "targets/heart": targets["heart"]["critical"],
        "setup/key": {"critical_faults": setup["critical_faults"]},
    }


def choices_differ(theirs: Mapping[str, Mapping[str, list[str]]]) -> list[str]:
    """Return where the choices that could harm a baby differ from those typed."""
    typed = blocks("choices")
    return [
        f"{block}: {line}"
        for block in sorted(typed.keys() | theirs.keys())
        for line in parted(
            {key: sorted(says.split()) for key, says in typed.get(block, {}).items()},
            {key: sorted(says) for key, says in theirs.get(block, {}).items()},
        )
    ]


def points_differ(unit: str, kind: str, key: Tables) -> list[str]:
    """Return where the points of a unit's parts differ."""
    ours = {part: float(says) for part, says in blocks("points")[f"{unit} {kind}"].items()}
    return parted(ours, {part: says["points"] for part, says in key[kind].items()})


def sources_differ(files: Mapping[str, Tables]) -> list[str]:
    """Return where the year of a source or the edition printed on it differs."""
    ours = {}
    for line in lines("sources"):
        key, year, edition = cells(line)
        ours[key] = (int(year), edition)
    return parted(ours, dict(_dated(files)))


def _dated(files: Mapping[str, Tables]) -> Iterator[tuple[str, tuple[int, str]]]:
    own = [table.get("source", {}) for name, table in files.items() if "rule" in table]
    for table in (files["sources"], *own):
        for key, source in table.items():
            if "year" in source or "edition" in source:
                yield key, (source.get("year"), source.get("edition", "-"))


def published_differ(files: Mapping[str, Tables]) -> list[str]:
    """Return where the day an edition was published, or a figure said of it, differs."""
    ours = {}
    for line in lines("published"):
        name, date, figures = cells(line)
        ours[name] = (date, figures)
    theirs = {}
    for name, table in files.items():
        edition = table.get("edition", {})
        figures = " ".join(FIGURE.findall(edition.get("says", ""))) or "-"
        if "published" in edition or figures != "-":
            theirs[name] = (edition.get("published"), figures)
    return parted(ours, theirs)


def coefficients_differ(module: Any = coefficients) -> list[str]:
    """Return where a coefficient of the model, or its basis, differs."""
    ours = {
        name: (tuple(float(one) for one in says.split()), basis)
        for basis, rows in blocks("coefficients").items()
        for name, says in rows.items()
    }
    theirs = {}
    for name, value in vars(module).items():
        several = value if isinstance(value, tuple) else (value,)
        if all(isinstance(one, Coefficient) for one in several):
            basis = " ".join(sorted({str(one.basis) for one in several}))
            theirs[name] = (tuple(one.value for one in several), basis)
    return parted(ours, theirs)
