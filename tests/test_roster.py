"""The roster: whoever can be read is read, and every mistake is named with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from graders.course.roster import COLUMNS, Person, read_roster
from workbook.course.settings import CourseError

FULL = "learner,name,role,ward,site\nada,Ada Demo,nurse,North,Hill\n"


def roster(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "people.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def told(path: Path) -> str:
    with pytest.raises(CourseError) as error:
        read_roster(path)
    return str(error.value)


def test_every_column_is_read(tmp_path: Path) -> None:
    """A full line is a person with name, role, ward and site."""
    assert COLUMNS == ("learner", "name", "role", "ward", "site")
    person = Person("ada", "Ada Demo", "nurse", "North", "Hill")
    assert read_roster(roster(tmp_path, FULL)) == {"ada": person}


def test_only_the_learner_is_needed_and_any_order_will_do(tmp_path: Path) -> None:
    """Columns may be left out, stand in any order, and be written with capitals."""
    assert read_roster(roster(tmp_path, "learner\nada\n")) == {"ada": Person("ada")}
    text = "Site, Learner\nHill, ada\n"
    assert read_roster(roster(tmp_path, text)) == {"ada": Person("ada", site="Hill")}


@pytest.mark.parametrize("comma", [";", "\t"])
def test_a_spreadsheet_of_another_country_is_read_too(tmp_path: Path, comma: str) -> None:
    """Semicolons or tabs part the cells where the first line has them."""
    (person,) = read_roster(roster(tmp_path, FULL.replace(",", comma))).values()
    assert person.site == "Hill"


def test_what_a_spreadsheet_adds_does_no_harm(tmp_path: Path) -> None:
    """A mark at the start, Windows line ends, empty lines and columns, a name on two lines."""
    text = '\ufefflearner,name,\r\nada,"Ada\r\nDemo",\r\n,,\r\n\r\nben,Ben,\r\n'
    assert list(read_roster(roster(tmp_path, text))) == ["ada", "ben"]


@pytest.mark.parametrize("name", ["ハシバミ 見本", "خزامى", "Łukasz Żółw", "नीम", "\u202eevil"])
def test_names_of_any_script_are_kept(tmp_path: Path, name: str) -> None:
    """A name is text as people write it."""
    path = roster(tmp_path, f"learner,name,ward\na,{name},{name}\n")
    assert read_roster(path) == {"a": Person("a", name, "", name)}


@pytest.mark.parametrize("text", ["", "learner,name\n", "learner"])
def test_nobody_is_an_empty_roster_or_says_what_is_missing(tmp_path: Path, text: str) -> None:
    """The head alone names nobody; an empty file has no column."""
    path = roster(tmp_path, text)
    if text:
        assert read_roster(path) == {}
    else:
        assert "There is no column 'learner'" in told(path)


def test_every_mistake_is_named_with_its_line_in_one_go(tmp_path: Path) -> None:
    """Columns, ids, encoding and cells: one reading tells them all."""
    text = (
        b"learner,wrd,name,name\n"
        b"ada,N,A,\n"
        b"ada,N,B,\n"
        b",N,C,\n"
        b"a/b,N,D,\n"
        b"eve,N,Mari\xe9,\n"
        b"fay,N,F,,too,many\n"
    )
    says = told(roster(tmp_path, text))
    for words in (
        "line 1: unknown column 'wrd'; the columns are learner, name, role, ward, site.",
        "line 1: the column 'name' stands twice.",
        "line 3: ada stands twice, first in line 2.",
        "line 4: the column learner is empty.",
        "line 5: 'a/b' cannot be a learner id",
        "line 6: 'eve,N,Mari\ufffd,' is not in UTF-8",
        "line 7: more cells than there are columns",
    ):
        assert words in says
    assert "line 2:" not in says


def test_lines_are_counted_as_a_text_editor_counts_them(tmp_path: Path) -> None:
    """A name over two lines does not shift the line that is named."""
    text = 'learner,name\nada,"Ada\nDemo"\n\na b,X\n'
    assert "line 5: 'a b' cannot be a learner id" in told(roster(tmp_path, text))


@pytest.mark.parametrize("learner", ["..", ".x", "-x", "a b", "a" * 65, "é", "a\\b", "='x'"])
def test_an_id_that_is_no_folder_name_is_refused(tmp_path: Path, learner: str) -> None:
    """Ids become folder names on every machine."""
    assert "line 2:" in told(roster(tmp_path, f"learner\n{learner}\n"))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (FULL.encode("utf-16"), "UTF-16"),
        (b"PK\x03\x04\x00rest", "a workbook"),
        (b"learner\na\x00b\n", "no text"),
        (b'learner,name\nada,"Ada\n', "Look for a quotation mark"),
        (b"name,role\nA,nurse\n", "There is no column 'learner'"),
    ],
)
def test_another_kind_of_file_says_what_to_do(tmp_path: Path, data: bytes, says: str) -> None:
    """A file of another program or coding is named as such."""
    assert says in told(roster(tmp_path, data))


def test_a_file_with_hundreds_of_mistakes_tells_the_first_and_how_many(tmp_path: Path) -> None:
    """The wrong file does not fill the screen."""
    says = told(roster(tmp_path, "learner\n" + "a b\n" * 500))
    assert says.count("line ") == 20
    assert "And 480 mistakes more." in says


def test_no_file_and_a_folder_are_one_sentence(tmp_path: Path) -> None:
    """What is not there, or is no file, is said."""
    assert told(tmp_path / "none.csv") == f"There is no roster at {tmp_path / 'none.csv'}."
    assert "is no file but a folder" in told(tmp_path)
