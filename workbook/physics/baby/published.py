"""The baby beside published courses: what was fitted, what was in sight, what was predicted.

A row that was fitted shows nothing. A row that was in sight while the shape of the model was
chosen is no prediction either. The predicted rows were looked up when the model stood, and nothing
was changed after. Most compare a middle baby with a median; rows that fail stay in the table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from workbook.physics.baby import cohorts as b
from workbook.physics.published import PublishedRow, Row, markdown_table

Standing = Literal["fitted", "in sight", "predicted"]
COLUMNS = ("Measured", "Published (band)", "Model", "Error")

DAWSON = "Dawson 2010, doi 10.1542/peds.2009-1510, abstract"
DAWSON_HEART = "Dawson 2010, heart rate of the same babies, abstract"
DAWSON_PRETERM = "Dawson 2009, Arch Dis Child Fetal Neonatal Ed 94:F87, abstract"
KIBSGAARD = "Kibsgaard 2023, doi 10.1111/apa.16659, abstract"
USLU = "Uslu 2017, abstract"
HOOPER = "Hooper 2013, abstract"
LINDE = "Linde 2016, Neonatology 110:231, abstract"
APNOEA = "a study of apnoea in preterm babies, 1986, abstract"
OEI = "Oei 2018, abstract"
WOLFSBERGER = "Wolfsberger, percentiles of babies of a trial, abstract"
TWO_MEANS = "a study of two means, 2015, abstract"
PEEP = "a trial of 417 babies with and without PEEP, abstract"
KC = "KC 2022, doi 10.1038/s41372-022-01593-1, abstract"
RABI = "Rabi 2006, doi 10.1016/j.jpeds.2005.12.047, abstract"
GAUTAM = "Gautam, babies of two ways of birth, Int J Contemp Pediatr, abstract"
NUNTNARUMIT = "Nuntnarumit 2010, J Perinatol 30:399, abstract"
YAM = "Yam 2010, doi 10.1136/adc.2009.180950, abstract"
THREE = "three means of monitoring, PMC8700180, abstract"


@dataclass(frozen=True, slots=True)
class BabyRow(PublishedRow):
    """A row of the baby."""

    @property
    def off(self) -> str:
        """Return the model's error in the row's own unit, with its sign; a plain 0 for none."""
        error = round(self.model - self.published, 1)
        return f"{error:+g}" if error else "0"


_QUARTILES = "The band is the quartiles."
_NEAR = "Within 3 points counts as agreement."
_BEATS = "Within 10 beats counts as agreement."
_ROWS: tuple[Row[Standing], ...] = (
    ("sat-1", "saturation at 1 min, no help needed", DAWSON, "%", 66, 63, 69,
     lambda: b.saturation(60), "fitted", _NEAR),
    ("sat-5", "saturation at 5 min", DAWSON, "%", 89, 86, 92,
     lambda: b.saturation(300), "fitted", _NEAR),
    ("air-2", "below 30 weeks in air, saturation at 2 min", DAWSON_PRETERM, "%", 31, 28, 34,
     lambda: b.preterm_saturation(0.21, 120), "fitted", _NEAR),
    ("air-5", "below 30 weeks in air, saturation at 5 min", DAWSON_PRETERM, "%", 54, 51, 57,
     lambda: b.preterm_saturation(0.21, 300), "fitted", _NEAR),
    ("pure-2", "below 30 weeks in pure oxygen, saturation at 2 min", DAWSON_PRETERM, "%", 84, 81,
     87, lambda: b.preterm_saturation(1.0, 120), "fitted", _NEAR),
    ("rise-begins", "a slow heart begins to rise, after so long of ventilation", KIBSGAARD, "s",
     20, 15, 25, lambda: b.rise(0.0)[0], "fitted", "Ten beats above where it stood; depth 0."),
    ("rise-takes", "it then rises within", KIBSGAARD, "s", 25, 20, 30,
     lambda: b.rise(0.0)[1], "fitted", "From there to nine tenths of the way; depth 0."),
    ("deep-begins", "in deeper asphyxia a slow heart begins to rise after", KIBSGAARD, "s",
     20, 15, 25, lambda: b.rise(0.5)[0], "in sight", "Depth 0.5."),
    ("shown-1", "heart rate by oximeter at 1 min", DAWSON_HEART, "1/min", 96, 86, 106,
     lambda: b.shown(60), "fitted", _BEATS),
    ("shown-2", "heart rate by oximeter at 2 min", DAWSON_HEART, "1/min", 139, 129, 149,
     lambda: b.shown(120), "fitted", _BEATS),
    ("shown-5", "heart rate by oximeter at 5 min", DAWSON_HEART, "1/min", 163, 153, 173,
     lambda: b.shown(300), "in sight", _BEATS),
    ("two-means", "heart rate by oximeter at 1 min, where leads show 150", TWO_MEANS, "1/min",
     94, 84, 104, lambda: b.shown(60), "in sight", _BEATS),
    ("sat-2", "saturation at 2 min", DAWSON, "%", 73, 70, 76,
     lambda: b.saturation(120), "in sight", _NEAR),
    ("sat-10", "saturation at 10 min", DAWSON, "%", 96, 93, 99,
     lambda: b.saturation(600), "in sight", _NEAR),
    ("sat-90", "saturation passes 90 %", DAWSON, "min", 7.9, 5.0, 10.0,
     lambda: b.reaches(0.90), "in sight",
     "The source's own medians at 5 and 10 min cross it near 5.5 min."),
    ("tenth-1", "a tenth of healthy babies is below this at 1 min", DAWSON, "%", 39, 36, 42,
     lambda: b.centile(60, 10), "in sight", "Drawn babies."),
    ("ninetieth-1", "a tenth of healthy babies is above this at 1 min", DAWSON, "%", 87, 84, 90,
     lambda: b.centile(60, 90), "in sight", "Drawn babies."),
    ("tenth-5", "a tenth of healthy babies is below this at 5 min", DAWSON, "%", 73, 70, 76,
     lambda: b.centile(300, 10), "in sight", "Drawn babies."),
    ("ninetieth-5", "a tenth of healthy babies is above this at 5 min", DAWSON, "%", 97, 94, 100,
     lambda: b.centile(300, 90), "in sight", "Drawn babies."),
    ("below-35-10", "below 35 weeks, saturation at 10 min", USLU, "%", 90, 87, 93,
     lambda: b.slower(600), "in sight", "Two numbers refitted on 61 and 80 % at 1 and 5 min."),
    ("below-35-15", "below 35 weeks, saturation at 15 min", USLU, "%", 96, 93, 99,
     lambda: b.slower(900), "in sight", "The same two numbers."),
    ("carbon", "expired carbon dioxide comes before a fast heart", HOOPER, "s", 28, 21, 36,
     lambda: b.carbon_first(0.3), "in sight",
     "10 mmHg, then 100 a minute; support from 45 s is assumed."),
    ("leads-40", "heart rate by leads at 40 s", LINDE, "1/min", 149, 116, 182,
     lambda: b.heart(40), "in sight", "The band is one standard deviation."),
    ("apnoea-sat", "in apnoea saturation falls after", APNOEA, "s", 6.9, 4.9, 8.9,
     lambda: b.apnoea()[0], "in sight", "2 points down; a term baby on PEEP is assumed."),
    ("apnoea-heart", "in apnoea the heart slows after", APNOEA, "s", 9.3, 7.3, 11.3,
     lambda: b.apnoea()[1], "in sight", "5 beats down; the same baby."),
    ("not-80", "below 32 weeks with 30 % oxygen, not at 80 % by 5 min", OEI, "%", 46, 36, 56,
     lambda: b.not_at(0.3, 0.80, 300), "in sight", "Drawn babies, supported from 45 s."),
    ("slow-2", "below 32 weeks, a tenth is below this at 2 min", WOLFSBERGER, "%", 32, 29, 35,
     lambda: b.preterm_centile(0.3, 120, 10), "in sight", "The same drawn babies."),
    ("slow-5", "below 32 weeks, a tenth is below this at 5 min", WOLFSBERGER, "%", 52, 49, 55,
     lambda: b.preterm_centile(0.3, 300, 10), "in sight", "The same drawn babies."),
    ("slow-10", "below 32 weeks, a tenth is below this at 10 min", WOLFSBERGER, "%", 83, 80, 86,
     lambda: b.preterm_centile(0.3, 600, 10), "in sight", "The same, oxygen never turned."),
    ("peep-heart", "without PEEP the heart is fast so much later", PEEP, "s", 0, -3, 3,
     b.without_peep, "in sight", "No difference was found; a bag, depth 0."),
    ("clamped-30", "vigorous, cord cut early: heart rate by leads at 30 s", KC, "1/min",
     169, 159, 179, lambda: b.heart(30), "predicted", _BEATS),
    ("clamped-180", "vigorous, cord cut early: heart rate by leads at 3 min", KC, "1/min",
     184, 174, 194, lambda: b.heart(180), "predicted", _BEATS),
    ("from-35-5", "from 35 weeks, saturation at 5 min", RABI, "%", 87, 80, 95,
     lambda: b.saturation(300), "predicted", _QUARTILES),
    ("from-35-90", "from 35 weeks, the median reaches 90 %", RABI, "min", 8, 7, 9,
     lambda: b.reaches(0.90), "predicted", "Within a minute counts as agreement."),
    ("term-1", "term, born vaginally, saturation at 1 min", GAUTAM, "%", 70, 66, 73,
     lambda: b.saturation(60), "predicted", _QUARTILES),
    ("term-5", "term, born vaginally, saturation at 5 min", GAUTAM, "%", 89, 85, 91,
     lambda: b.saturation(300), "predicted", _QUARTILES),
    ("late-2", "near 35 weeks in air, saturation at 2 min", NUNTNARUMIT, "%", 77, 72, 92,
     lambda: b.saturation(120), "predicted", "Taken as the term baby. " + _QUARTILES),
    ("late-4", "near 35 weeks in air, saturation at 4 min", NUNTNARUMIT, "%", 88, 80, 94,
     lambda: b.saturation(240), "predicted", "Taken as the term baby. " + _QUARTILES),
    ("late-6", "near 35 weeks in air, saturation at 6 min", NUNTNARUMIT, "%", 95, 85, 97,
     lambda: b.saturation(360), "predicted", "Taken as the term baby. " + _QUARTILES),
    ("ventilated-100", "below 30 weeks and slow: ventilated, shown above 100 a minute after", YAM,
     "s", 73, 24, 165, lambda: b.ventilated_until(0.3, 100), "predicted",
     "25/6 with 30 % oxygen from 60 s is assumed. " + _QUARTILES),
    ("ventilated-120", "the same, above 120 a minute", YAM, "s", 243, 191, 351,
     lambda: b.ventilated_until(0.3, 120), "predicted", _QUARTILES),
    ("first-heart", "ventilated babies, first heart rate at 19 s", KIBSGAARD, "1/min", 112, 84,
     149, lambda: b.first_heart(19), "in sight", "Drawn babies of the courses. " + _QUARTILES),
    ("sensor", "oximeter in resuscitated babies, from put on to a value", THREE, "s", 118, 60,
     180, lambda: b.delay("oximeter"), "in sight",
     "A difference of medians. Taken shorter, or no case would be over in time."),
    ("leads", "leads in resuscitated babies, from put on to a value", THREE, "s", 33, 15, 60,
     lambda: b.delay("leads"), "in sight", "A difference of medians. Taken shorter likewise."),
)  # fmt: skip


def baby_rows() -> list[BabyRow]:
    """Return every row, those that fail too, with the model's number worked out afresh."""
    return [
        BabyRow(id, says, source, unit, published, low, high, round(model(), 1), standing, note)
        for id, says, source, unit, published, low, high, model, standing, note in _ROWS
    ]


def baby_markdown() -> str:
    """Return the rows as tables for a guide: one for each standing, misses said."""
    rows, parts = baby_rows(), list[str]()
    for standing in ("fitted", "in sight", "predicted"):
        mine = [row for row in rows if row.standing == standing]
        agree = sum(row.agrees for row in mine)
        parts += [
            f"*{standing.capitalize()}*: {agree} of {len(mine)} agree.",
            "",
            *markdown_table(COLUMNS, map(_cells, mine)),
            "",
        ]
    return "\n".join(parts).strip()


def _cells(row: BabyRow) -> list[str]:
    unit = {"1/min": " a minute", "%": " %"}.get(row.unit, f" {row.unit}")
    says = row.says[:1].upper() + row.says[1:]
    published = f"{row.published:g}{unit} ({row.low:g} to {row.high:g})"
    error = row.off if row.agrees else f"{row.off}, **misses**"
    return [says, published, f"{row.model:g}", error]
