"""Write what JupyterLab's bar and dialogs say in other languages, from the one catalogue.

``python -m tests.page_words`` writes ``workbook/labextension/page/translations.js``. Its English
stands in ``words.js`` beside it; a text that nobody has translated is left out, and shown so.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from babel.messages.extract import extract

from workbook.core import language

PAGE = Path(language.__file__).parents[1] / "labextension" / "page"
WORDS = PAGE / "words.js"
WRITTEN = PAGE / "translations.js"
HEAD = "// What words.js says in other languages. Written by: python -m tests.page_words\n"


def texts() -> list[str]:
    """Return the English texts of the bar and the dialogs, each once."""
    with WORDS.open("rb") as file:
        found = [text for _line, text, _notes, _context in extract("javascript", file, {"_": None})]
    return [text for text in dict.fromkeys(found) if isinstance(text, str)]


def translations(codes: Iterable[str]) -> str:
    """Return the file that holds these languages."""
    said = {code: _told(code) for code in codes if code != language.ENGLISH}
    data = json.dumps(said, ensure_ascii=False, indent=2, sort_keys=True)
    return f"{HEAD}export const LANGUAGES = {data};\n"


def _told(code: str) -> dict[str, Any]:
    with language.speaking(code):
        told = {text: language._(text) for text in texts()}
        known = {text: said for text, said in told.items() if said != text}
        return {"direction": language.direction(), "texts": known}


def main() -> int:
    """Write the file, and say how far each language is."""
    WRITTEN.write_text(translations(language.languages()), encoding="utf-8")
    print(f"{WRITTEN.name}: {len(texts())} texts in English")
    for code in language.languages():
        if code != language.ENGLISH:
            print(f"{code}: {len(_told(code)['texts'])} texts")
    return 0


if __name__ == "__main__":
    sys.exit(main())
