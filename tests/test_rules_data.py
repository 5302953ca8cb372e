"""The rules data: every number has its source; editions differ where publications differ."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from workbook.cases.starting import Baby, ends, wanted
from workbook.core.quantities import MEASURES
from workbook.rules import Basis, Rule, RuleError, editions, read_rules, rulebook, sources
from workbook.rules.reader.rulefile import DATA, read_procedures
from workbook.units.targets.case.starting_sets import broken

PATHS = [DATA / f"{id}.toml" for id in editions()]
EDITIONS = [
    "aha-2015", "aha-2020", "aha-2023", "aha-2025", "anzcor-2021", "erc-2015", "erc-2021",
    "erc-2025", "ilcor-2020", "ilcor-2025", "textbook-2021", "who-2012",
]  # fmt: skip
CORE = [
    "pip.start", "pip.ceiling", "peep.start", "inflations.first", "inflations.first-time",
    "inflation-time", "rate", "sustained-inflation", "oxygen.start", "spo2.1min", "spo2.2min",
    "spo2.3min", "spo2.4min", "spo2.5min", "spo2.10min", "hr.ventilate", "hr.compress",
    "hr.reassess", "compressions.ratio", "compressions.events", "compressions.events-compressions",
    "compressions.events-breaths", "corrective.order", "supraglottic", "supraglottic.from",
    "backup-bag", "t-piece", "cord-clamping", "stop",
]  # fmt: skip
SENTENCES = {
    "sustained-inflation", "compressions.ratio", "corrective.order", "supraglottic", "backup-bag",
    "t-piece",
}  # fmt: skip
YOUNGEST, OLDEST = 22.0, 46.0
OPEN = float("inf")


def label(rule: Rule) -> str:
    """Return a name for a rule in a test's report."""
    return f"{rule.edition}:{rule.id}:{rule.population.says}"


RULES = [rule for path in PATHS for rule in read_rules(path)[1]]
STATED = [rule for rule in RULES if rule.stated]

# Oxygen saturation at (minute, low, high) of the algorithm of 2015.
SPO2 = [(1, 60, 65), (2, 65, 70), (3, 70, 75), (4, 75, 80), (5, 80, 85), (10, 85, 95)]

# (edition, id, weeks of gestation, low, high, basis, publication)
PUBLISHED = [
    ("aha-2025", "rate", None, 30, 60, "secondary", "AHA and AAP joint release, 23 October 2025"),
    ("aha-2015", "rate", None, 40, 60, "memory", "Circulation 2015;132(suppl 2):S543-S560"),
    ("aha-2020", "rate", None, 40, 60, "memory", "Circulation 2020;142(suppl 2):S524-S550"),
    ("aha-2023", "rate", None, 40, 60, "memory", "10.1161/CIR.0000000000001181, no change"),
    ("aha-2020", "pip.start", None, 20, 25, "memory", "Circulation 2020;142(suppl 2):S524-S550"),
    ("aha-2015", "pip.start", None, 20, 20, "memory", "Circulation 2015;132(suppl 2):S543-S560"),
    ("aha-2025", "pip.start", None, 20, 30, "memory", "Circulation 2025;152:S385-S423, unverified"),
    ("erc-2021", "inflations.first", None, 5, 5, "secondary", "Resuscitation 2021;161:291-326"),
    ("erc-2021", "inflations.first-time", None, 2, 3, "memory", "Resuscitation 2021;161:291-326"),
    ("erc-2021", "pip.start", 40, 30, 30, "secondary", "Resuscitation 2021;161:291-326"),
    ("erc-2021", "pip.start", 31.9, 25, 25, "primary", "Resuscitation Council UK, May 2021"),
    ("erc-2021", "oxygen.start", 32, 21, 21, "primary", "Resuscitation Council UK, May 2021"),
    ("erc-2021", "oxygen.start", 31.9, 21, 30, "primary", "Resuscitation Council UK, May 2021"),
    ("erc-2021", "oxygen.start", 28, 21, 30, "primary", "Resuscitation Council UK, May 2021"),
    ("erc-2021", "oxygen.start", 27.9, 30, 30, "primary", "Resuscitation Council UK, May 2021"),
    ("erc-2021", "rate", None, 30, 30, "memory", "Resuscitation 2021;161:291-326"),
    ("erc-2021", "spo2.5min", 31, 80, OPEN, "primary", "Resuscitation Council UK, May 2021"),
    ("erc-2021", "stop", None, 20, 20, "primary", "Resuscitation Council UK, May 2021"),
    *(
        ("aha-2015", f"spo2.{m}min", None, low, high, "secondary", "AHA and AAP algorithm, 2015")
        for m, low, high in SPO2
    ),
    ("aha-2015", "hr.ventilate", None, 100, 100, "secondary", "AHA and AAP algorithm, 2015"),
    ("aha-2025", "hr.compress", None, 60, 60, "secondary", "flow chart citing S385-S423"),
    ("aha-2020", "oxygen.start", 35, 21, 21, "memory", "Circulation 2020;142(suppl 2):S524-S550"),
    ("aha-2020", "oxygen.start", 34.9, 21, 30, "memory", "Circulation 2020;142:S524-S550"),
    ("aha-2020", "stop", None, 20, 20, "primary", "Circulation 2020;142:S524, top ten messages"),
    ("aha-2023", "supraglottic.from", None, 34, OPEN, "primary", "10.1161/CIR.0000000000001181"),
    ("aha-2023", "cord-clamping", None, 30, OPEN, "primary", "10.1161/CIR.0000000000001181"),
    ("aha-2025", "cord-clamping", None, 60, OPEN, "secondary", "AHA and AAP release, October 2025"),
    ("erc-2015", "cord-clamping", None, 60, OPEN, "primary", "10.1016/j.resuscitation.2015.07.029"),
    ("who-2012", "cord-clamping", None, 60, 180, "secondary", "ISBN 978 92 4 150369 3"),
    ("anzcor-2021", "spo2.3min", None, 70, 90, "memory", "ANZCOR guideline 13.4, 2021"),
    ("textbook-2021", "pip.ceiling", 31, -OPEN, 30, "memory", "textbook, 8th edition, 2021"),
    ("textbook-2021", "pip.ceiling", 40, -OPEN, 40, "memory", "textbook, 8th edition, 2021"),
    ("practice", "fact.compressions.events", None, 120, 120, "primary", "SJTREM 2012;20:73"),
    ("practice", "compressions.slot", None, 0.5, 0.5, "computed", "60 s divided by 120"),
    ("practice", "flow.limit", None, -OPEN, 10, "primary", "ADC Fetal Neonatal Ed 2009;94:F461"),
    ("practice", "pip.accept", None, -OPEN, 1, "primary", "Eur J Pediatr 2014;173:1005-1009"),
    ("practice", "peep.accept", None, -OPEN, 0.5, "primary", "Eur J Pediatr 2014;173:1005-1009"),
    ("practice", "suction.limit", None, -OPEN, 120, "primary", "AARC 2022, suctioning"),
    ("practice", "pass-mark", None, 80, OPEN, "secondary", "evaluation plan, about 80 %"),
    ("practice", "fact.pass-mark", None, 83.3, 83.3, "computed", "evaluation plan, 15 of 18"),
    ("practice", "fact.fade.certified", None, 6, 12, "secondary", "Adv Neonatal Care 2017"),
    ("practice", "retest.first", None, 4, 8, "assumption", "inferred from the studies of fading"),
    ("practice", "retest.interval", None, 3, 3, "assumption", "inferred from the same"),
    ("practice", "retest.limit", None, -OPEN, 6, "assumption", "inferred from the same"),
    ("practice", "item.discrimination.acceptable", None, 0.15, OPEN, "secondary", "Varma 2006"),
    ("practice", "item.discrimination.good", None, 0.25, OPEN, "secondary", "Varma 2006"),
]

# (id, the one number, basis, publication)
FACTS = [
    ("fact.flow-shift.peep", 20, "primary", "ADC Fetal Neonatal Ed 2009;94:F461"),
    ("fact.flow-shift.pip", 28, "primary", "ADC Fetal Neonatal Ed 2009;94:F461"),
    ("fact.flow-shift.relief", 40, "primary", "ADC Fetal Neonatal Ed 2009;94:F461"),
    ("fact.flow-mask.peep-after", 26.4, "primary", "Resuscitation 2011;82:920-924"),
    ("fact.overset-pip", 1.7, "primary", "PMID 23717652"),
    ("fact.overset-peep", 0.9, "primary", "PMID 23717652"),
    ("fact.soft-lung-pip", 35.3, "primary", "10.1136/archdischild-2016-311164"),
    ("fact.soft-lung-peep-after", 8.2, "primary", "10.1136/archdischild-2016-311164"),
    ("fact.spo2-healthy.5min", 89, "primary", "10.1542/peds.2009-1510"),
    ("fact.obstruction-low-leak", 46, "primary", "10.1136/adc.2009.182162"),
    ("fact.obstruction-low-leak-taught", 42, "primary", "10.1136/adc.2009.182162"),
    ("fact.harm.volume", 6, "memory", "ADC Fetal Neonatal Ed 2019;104:F57"),
    ("fact.harm.above", 51, "memory", "ADC Fetal Neonatal Ed 2019;104:F57"),
    ("fact.harm.below", 13, "memory", "ADC Fetal Neonatal Ed 2019;104:F57"),
    ("fact.harm.lambs", 6, "primary", "10.1203/00006450-199709000-00016"),
    ("fact.volume-flag.low", 2.5, "primary", "10.1016/j.jpeds.2012.09.036"),
    ("fact.volume-flag.high", 10, "primary", "10.1016/j.jpeds.2012.09.036"),
    ("fact.bag-limit", 45, "primary", "PMC6764255"),
    ("fact.bag-over", 6, "primary", "PMC6764255"),
    ("fact.leak-untrained", 71, "primary", "10.1136/adc.2009.182162"),
    ("fact.leak-trained", 10, "primary", "10.1136/adc.2009.182162"),
    ("fact.text-alone", 8.8, "primary", "10.1136/adc.2007.117788"),
    ("fact.t-piece-shorter", 19.8, "primary", "Pediatrics e2021050174"),
    ("fact.fade.first-inflation", 56.9, "primary", "10.1186/s41077-023-00244-5"),
    ("fact.fade.first-inflation-2-months", 83.8, "primary", "10.1186/s41077-023-00244-5"),
    ("fact.fade.first-inflation-4-months", 90.2, "primary", "10.1186/s41077-023-00244-5"),
    ("fact.fade.first-inflation-refreshed", 70.4, "primary", "10.1186/s41077-023-00244-5"),
    ("fact.fade.knowledge", 81.5, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.knowledge-3-months", 55.4, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.knowledge-6-months", 55.8, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.knowledge-retrained", 94.9, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.skill", 87.4, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.skill-3-months", 59.1, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.skill-6-months", 60.4, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.fade.skill-retrained", 96, "primary", "Pan Afr Med J 2021;38:75"),
    ("fact.angoff-judges", 15, "primary", "10.1186/s12909-016-0656-7"),
    ("fact.leak-three-weeks", 15, "primary", "10.1136/adc.2009.182162"),
    ("flow.start", 8, "practice", "custom"),
    ("pip.example", 25, "practice", "custom"),
    ("peep.example", 5, "practice", "custom"),
    ("relief.example", 30, "practice", "custom"),
]


@pytest.mark.parametrize("path", PATHS, ids=lambda p: p.stem)
def test_every_file_reads_and_is_named_after_its_edition(path):
    """A rule file opens without a problem, holds rules, and its id is its file name."""
    edition, rules = read_rules(path)
    assert edition.id == path.stem
    assert edition.says
    assert rules


def test_no_edition_is_missing_and_none_is_unknown_to_these_tests():
    """The files are the editions listed here and common practice, no more and no fewer."""
    assert set(editions()) == {*EDITIONS, "practice"}


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda r: f"{r[0]}:{r[1]}:{r[2]}")
def test_a_rule_says_what_the_publication_says(row):
    """The band and its basis are those written beside the publication."""
    edition, id, weeks, low, high, basis, _publication = row
    rule = rulebook(edition).find(id, gestation=weeks)
    assert rule.band == (low, high)
    assert rule.citation.basis == basis


@pytest.mark.parametrize("row", FACTS, ids=lambda r: r[0])
def test_a_taught_fact_is_the_published_number(row):
    """The number a lesson would quote is the one written beside the publication."""
    id, value, basis, _publication = row
    rule = rulebook("practice")[id]
    assert rule.value == value
    assert rule.citation.basis == basis


@pytest.mark.parametrize("rate", [30, 40, 45, 50, 60])
def test_a_beat_is_a_third_of_an_inflation_cycle(rate):
    """Three beats at the stored length fill one cycle to the rounding of four digits."""
    beat = rulebook("practice")[f"beat.{rate}"]
    assert beat.value == pytest.approx(60 / (3 * rate), abs=1e-4)
    assert beat.citation.basis == Basis.COMPUTED


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("id", CORE)
def test_every_edition_states_each_core_rule_or_says_it_does_not(edition, id):
    """No practice value stands in for what an edition may say itself."""
    rules = rulebook(edition).all(id)
    assert all(rule.edition != "practice" for rule in rules)


@pytest.mark.parametrize("rule", [r for r in RULES if r.id in CORE], ids=label)
def test_a_core_rule_has_the_unit_of_its_namesakes(rule):
    """Editions can be put side by side: one id, one measure, or a sentence everywhere."""
    if rule.id in SENTENCES:
        assert rule.unit is None or (rule.unit == "" and not rule.stated)
    else:
        units = {MEASURES[r.unit] for r in RULES if r.id == rule.id and r.unit is not None}
        assert units == {MEASURES[rule.unit]}


@pytest.mark.parametrize("rule", [r for r in RULES if not r.stated], ids=label)
def test_asking_a_blank_rule_for_a_number_is_refused_in_words(rule):
    """A number that is not known is never invented."""
    with pytest.raises(RuleError, match="not stated here"):
        _ = rule.band


def test_a_blank_rule_reached_through_the_book_is_refused_too():
    """The highest PIP of the 2020 guideline is unknown, whatever practice says."""
    with pytest.raises(RuleError, match="not stated here"):
        _ = rulebook("aha-2020")["pip.ceiling"].value


@pytest.mark.parametrize("path", PATHS, ids=lambda p: p.stem)
def test_populations_of_one_rule_tile_all_gestations(path):
    """Sorted by gestation, each population starts where the one before it ends."""
    rules = read_rules(path)[1]
    for id in {rule.id for rule in rules}:
        bounds = sorted(
            (low or YOUNGEST, high or OLDEST)
            for low, high in (r.population.gestation for r in rules if r.id == id)
        )
        assert bounds[0][0] == YOUNGEST, id
        assert bounds[-1][1] == OLDEST, id
        assert all(a[1] == b[0] for a, b in pairwise(bounds)), id


@pytest.mark.parametrize("rule", STATED, ids=label)
def test_a_citation_fits_its_basis(rule):
    """What was read names its place; memory pretends to none and says how sure it is."""
    basis, where = rule.citation.basis, rule.citation.locator
    unread = "not located" in where
    assert unread == (basis == Basis.MEMORY)
    if basis in {Basis.PRIMARY, Basis.SECONDARY, Basis.COMPUTED}:
        assert where
    if basis == Basis.SECONDARY:
        assert re.search(r"\b(copy|copies|release|page|flow chart)\b", where)
    assert basis != Basis.MEMORY or rule.citation.confidence
    for own in (Basis.PRACTICE, Basis.ASSUMPTION):  # neither has a publication to cite
        assert (basis == own) == (rule.citation.source.key == own)


@pytest.mark.parametrize("key", ["erc-2025", "textbook-2021", "nfpa-99", "iso-7396-1"])
def test_a_publication_marked_unread_is_never_cited_as_read(key):
    """No value may claim to be read in a source whose note says it was not read."""
    assert "ot read" in sources()[key].note
    assert all(r.citation.basis != Basis.PRIMARY for r in RULES if r.citation.source.key == key)


def test_an_unverified_number_of_2025_says_so():
    """What is not yet read in the edition stays below high confidence, in plain sight."""
    remembered = [r for r in STATED if r.edition == "aha-2025" and r.citation.basis == "memory"]
    assert {"pip.start", "inflation-time", "oxygen.start"} <= {rule.id for rule in remembered}
    assert all(rule.citation.confidence in {"low", "medium"} for rule in remembered)
    assert all("Unverified" in rule.says for rule in remembered)


@pytest.mark.parametrize("id", ["pip.start", "peep.start", "oxygen.start", "spo2.5min", "rate"])
def test_the_unread_european_edition_of_2025_gives_no_number(id):
    """Until it is read, its numbers stay blank rather than guessed."""
    assert not any(rule.stated for rule in rulebook("erc-2025").all(id))


def test_editions_conflict_where_the_publications_do():
    """The same baby has different right answers, so a question must name its edition."""
    rates = {e: rulebook(e)["rate"].band for e in ("aha-2020", "aha-2025", "erc-2021", "who-2012")}
    assert len(set(rates.values())) == len(rates)
    assert not rulebook("aha-2020")["inflations.first"].stated
    assert rulebook("erc-2021")["inflations.first"].value > 0
    starts = [rulebook(e).find("pip.start", gestation=40).band for e in ("aha-2020", "erc-2021")]
    assert starts[0] != starts[1]
    for edition, band in {"aha-2020": (21, 30), "ilcor-2025": (30, OPEN)}.items():
        assert rulebook(edition).find("oxygen.start", gestation=29).band == band


def test_the_back_up_bag_and_the_supraglottic_airway_are_worded_as_published():
    """The focused update of 2023 demands the bag and permits the airway."""
    book = rulebook("aha-2023")
    assert "must be at hand" in book["backup-bag"].says
    assert " may be " in book["supraglottic"].says
    assert book["backup-bag"].citation.basis == Basis.PRIMARY


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_bench_can_be_set_up_in_every_edition(edition):
    """One flow and, at any gestation, a relief that the starting PIP does not pass."""
    book = rulebook(edition)
    assert book["flow.range"].holds(book["flow.start"].value)
    for weeks in (24, 28, 31.9, 32, 34, 36.9, 37, 41):
        relief = book.find("relief.limit", gestation=weeks).band[1]
        start = book.find("pip.start", gestation=weeks)
        if start.stated:
            assert start.band[0] < relief
            assert start.band[1] <= relief


def test_teaching_cases_stay_below_every_relief_in_custom():
    """A drawn PIP clears the lowest relief by more than the distance that counts as set."""
    book = rulebook("practice")
    lowest = min(rule.band[0] for rule in book.all("relief.limit"))
    assert book["pip.drawn"].band[1] + book["pip.accept"].value < lowest
    assert book["peep.drawn"].band[1] < book["pip.drawn"].band[0]


@pytest.mark.parametrize("rule", [r for r in STATED if r.typical is not None], ids=label)
def test_the_number_named_in_a_band_lies_in_it(rule):
    """A typical value never leaves its own band."""
    assert rule.holds(rule.typical)


@pytest.mark.parametrize("rule", RULES, ids=label)
def test_a_rule_is_a_short_plain_sentence(rule):
    """Each sentence ends, stays under twenty words, and avoids words that belittle."""
    assert rule.says[-1] == "."
    sentences = re.split(r"(?<=[.:;])\s", rule.says)
    assert all(len(sentence.split()) < 20 for sentence in sentences)
    assert not re.search(r"\b(just|simply|obviously|easy|easily)\b", rule.says, re.IGNORECASE)


def test_every_source_is_used_and_its_doi_is_its_own():
    """A source nobody cites is a leftover; a DOI is written bare and belongs to one source."""
    used = {rule.citation.source.key for rule in RULES}
    steps = (step for procedure in read_procedures().values() for step in procedure.steps)
    assert set(sources()) == used | {step.citation.source.key for step in steps}
    dois = [source.doi for source in sources().values() if source.doi]
    assert all(re.fullmatch(r"10\.\d{4,9}/\S+", doi) for doi in dois)
    assert len(dois) == len(set(dois))


def test_an_unknown_edition_is_refused_with_the_known_ones():
    """A misspelt edition gets one sentence that names what there is."""
    with pytest.raises(RuleError, match=r"no edition 'aha-1999'; there are .*aha-2020"):
        rulebook("aha-1999")


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize("weeks", range(32, 37))
def test_between_32_and_36_weeks_either_limit_is_right_where_it_clears_the_pip(edition, weeks):
    """Units part between the preterm and the term limit; only one that meets PIP is wrong."""
    book, met = rulebook(edition), Baby(weeks, 2.2)
    rules, margin = wanted(book, met), book["relief.margin"].value
    parts = {part: ends(rule)[0] for part, rule in rules.items()}
    for relief in (30, 40):
        clears = relief >= parts["pip"] + margin
        assert broken({**parts, "relief": relief}, book, met) == ([] if clears else ["relief"])
    assert rulebook("practice").find("relief.limit", gestation=weeks).band == (30, 40)
