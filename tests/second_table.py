"""Every number of every guideline edition, typed a second time from notes on the publications.

It was typed from a collection of what each publication says, never from the rule files: a slip in
either is found by the other. Each block begins with its edition and publication; a row is
``rule | for whom, in weeks | lowest | highest``, with ``-`` for an end that is open.
"""

from __future__ import annotations

from collections.abc import Iterator

TABLE = """
aha-2015: Circulation 2015;132(suppl 2):S543-S560; saturation and heart rate by its algorithm
pip.start | all | 20 | 20
peep.start | below 37 | 5 | 5
rate | all | 40 | 60
oxygen.start | from 35 | 21 | 21
oxygen.start | below 35 | 21 | 30
oxygen.not-high | all | 65 | 65
spo2.1min | all | 60 | 65
spo2.2min | all | 65 | 70
spo2.3min | all | 70 | 75
spo2.4min | all | 75 | 80
spo2.5min | all | 80 | 85
spo2.10min | all | 85 | 95
hr.ventilate | all | 100 | 100
hr.compress | all | 60 | 60
hr.reassess | all | 30 | -
compressions.events | all | 120 | 120
compressions.events-compressions | all | 90 | 90
compressions.events-breaths | all | 30 | 30
supraglottic.from | all | 34 | -

aha-2020: Circulation 2020;142(suppl 2):S524-S550
pip.start | all | 20 | 25
inflation-time | all | - | 1
rate | all | 40 | 60
oxygen.start | from 35 | 21 | 21
oxygen.start | below 35 | 21 | 30
spo2.1min | all | 60 | 65
spo2.2min | all | 65 | 70
spo2.3min | all | 70 | 75
spo2.4min | all | 75 | 80
spo2.5min | all | 80 | 85
spo2.10min | all | 85 | 95
hr.ventilate | all | 100 | 100
hr.compress | all | 60 | 60
hr.reassess | all | 30 | -
hr.reassess-compressions | all | 60 | 60
stop | all | 20 | 20

aha-2023: Circulation 2023, doi 10.1161/CIR.0000000000001181
supraglottic.from | all | 34 | -
cord-clamping | all | 30 | -

aha-2025: Circulation 2025;152(16 suppl 2):S385-S423; the joint release of 23 October 2025
pip.start | all | 20 | 30
inflation-time | all | - | 1
rate | all | 30 | 60
ppv.within | all | - | 60
oxygen.start | from 35 | 21 | 21
oxygen.start | 32 to below 35 | 21 | 30
oxygen.start | below 32 | 30 | -
spo2.2min | all | 65 | 70
spo2.3min | all | 70 | 75
spo2.4min | all | 75 | 80
spo2.5min | all | 80 | 85
spo2.10min | all | 85 | 95
hr.ventilate | all | 100 | 100
hr.compress | all | 60 | 60
hr.reassess | all | 30 | -
hr.reassess-compressions | all | 60 | 60
cord-clamping | all | 60 | -

anzcor-2021: ANZCOR guideline 13.4, 2021
pip.start | from 37 | 30 | 30
pip.start | below 32 | 20 | 25
peep.start | all | 5 | 8
relief.limit | all | - | 50
rate | all | 40 | 60
spo2.1min | all | 60 | 70
spo2.2min | all | 65 | 85
spo2.3min | all | 70 | 90
spo2.4min | all | 75 | 90
spo2.5min | all | 80 | 90
spo2.10min | all | 85 | 90
hr.ventilate | all | 100 | 100
hr.compress | all | 60 | 60
flow.start | all | 8 | 10

erc-2015: Resuscitation 2015;95:249-263
pip.start | from 37 | 30 | 30
pip.start | below 37 | 20 | 25
peep.start | below 37 | 5 | 5
inflations.first | all | 5 | 5
inflations.first-time | all | 2 | 3
rate | all | 30 | 30
oxygen.start | from 37 | 21 | 21
oxygen.start | below 35 | 21 | 30
spo2.2min | all | 60 | -
spo2.3min | all | 70 | -
spo2.4min | all | 80 | -
spo2.5min | all | 85 | -
spo2.10min | all | 90 | -
hr.ventilate | all | 100 | 100
hr.compress | all | 60 | 60
hr.reassess | all | 30 | 30
compressions.events | all | 120 | 120
cord-clamping | all | 60 | -
temperature | all | 36.5 | 37.5

erc-2021: Resuscitation 2021;161:291-326 and its United Kingdom twin of May 2021
pip.start | from 32 | 30 | 30
pip.start | below 32 | 25 | 25
peep.start | below 37 | 5 | 6
inflations.first | all | 5 | 5
inflations.first-time | all | 2 | 3
inflation-time | all | - | 1
rate | all | 30 | 30
oxygen.start | from 32 | 21 | 21
oxygen.start | 28 to below 32 | 21 | 30
oxygen.start | below 28 | 30 | 30
spo2.2min | all | 65 | -
spo2.5min | from 32 | 85 | -
spo2.5min | below 32 | 80 | -
spo2.10min | all | 90 | -
hr.ventilate | all | 100 | 100
hr.compress | all | 60 | 60
hr.reassess | all | 30 | 30
compressions.events | all | 120 | 120
compressions.events-compressions | all | 90 | 90
compressions.events-breaths | all | 30 | 30
compressions.oxygen | all | 100 | 100
supraglottic.from | all | 34 | -
supraglottic.weight | all | 2000 | -
cord-clamping | all | 60 | -
stop | all | 20 | 20

erc-2025: topic index page of the edition
cord-clamping | all | 60 | -
temperature | all | 36.5 | 37.5

ilcor-2020: Circulation 142(suppl 1):S185; Resuscitation 2020;156:A156-A187
oxygen.start | from 35 | 21 | 21
oxygen.start | below 35 | 21 | 30

ilcor-2025: doi 10.1161/CIR.0000000000001363, with the reviews of 2022 and 2024
oxygen.start | below 32 | 30 | -
supraglottic.from | all | 34 | -

textbook-2021: Textbook of Neonatal Resuscitation, 8th edition
pip.start | all | 20 | 25
pip.ceiling | below 32 | - | 30
pip.ceiling | from 37 | - | 40
peep.start | all | 5 | 5
pip.step | all | 5 | 10
relief.limit | all | 40 | 40
hr.reassess | all | 30 | 30
hr.first-check | all | 15 | 15
compressions.oxygen | all | 100 | 100
corrective.try | all | 5 | 5
supraglottic.weight | all | 2 | -
flow.start | all | 10 | 10
suction.set | all | 80 | 100

who-2012: ISBN 978 92 4 150369 3
rate | all | 40 | 40
ppv.within | all | - | 60
oxygen.start | from 33 | 21 | 21
oxygen.start | below 33 | 30 | 30
cord-clamping | all | 60 | 180
stop | all | 20 | 20
stop.no-heart-rate | all | 10 | 10
"""

Key = tuple[str, str, float, float]  # edition, rule, weeks from and below


def rows() -> Iterator[tuple[Key, tuple[float, float]]]:
    """Yield, for each rule of an edition and its babies, its lowest and highest number."""
    edition = ""
    for line in TABLE.strip().splitlines():
        if not line:
            continue
        if "|" not in line:
            edition = line.partition(":")[0]
            continue
        id, whom, low, high = (cell.strip() for cell in line.split("|"))
        yield (edition, id, *_weeks(whom)), (_end(low, "-inf"), _end(high, "inf"))


def _weeks(whom: str) -> tuple[float, float]:
    words = whom.split()
    if words == ["all"]:
        return float("-inf"), float("inf")
    low = float("-inf") if words[0] == "below" else float(words[1 if words[0] == "from" else 0])
    high = float(words[-1]) if "below" in words else float("inf")
    return low, high


def _end(cell: str, open_: str) -> float:
    return float(open_ if cell == "-" else cell)
