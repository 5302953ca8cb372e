"""The README shows the workbook as it is: each picture is taken again and held to the kept one."""

from __future__ import annotations

import base64
import re

import pytest

from tests.readme_pictures import FOLDER, PICTURES, apart

README = (FOLDER.parents[1] / "README.md").read_text(encoding="utf-8")
ALIKE = 0.18  # of black to white, in the square that differs most
RETAKE = "the README's picture is stale: python -m tests.readme_pictures"


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_of_the_readme_is_the_workbook_of_today(chromium, name):
    """Another drawing, another text or another size is told; a letter a pixel off is not."""
    taken = PICTURES[name](chromium)
    assert apart(taken, (FOLDER / name).read_bytes()) < ALIKE, RETAKE


def test_a_change_that_is_seen_is_found(chromium):
    """No picture passes for another, nor the bench in the dark, nor without its baby."""
    kept = {name: (FOLDER / name).read_bytes() for name in PICTURES}
    assert apart(kept["bench.png"], kept["face.png"]) > ALIKE
    page = chromium.new_page()
    change = """async ([data, hide]) => {
      const image = new Image();
      image.src = `data:image/png;base64,${data}`;
      await image.decode();
      const { width, height } = image;
      const canvas = Object.assign(document.createElement("canvas"), { width, height });
      const pen = canvas.getContext("2d");
      pen.drawImage(image, 0, 0);
      pen.fillStyle = "#fff";
      pen.fillRect(...hide.map((share, n) => share * (n % 2 ? image.height : image.width)));
      return canvas.toDataURL().split(",")[1];
    }"""
    told = base64.b64encode(kept["bench.png"]).decode()
    changed = page.evaluate(change, [told, [0.8, 0.4, 0.1, 0.12]])
    page.close()
    assert apart(kept["bench.png"], base64.b64decode(changed)) > ALIKE


def test_the_readme_shows_each_picture_with_words_and_no_other():
    """A picture nobody sees, or one that is not taken by the script, would go stale unseen."""
    shown = re.findall(r"!\[([^\]]{40,})\]\(workbook/pictures/([\w.]+)\)", README)
    assert sorted(name for _, name in shown) == sorted(PICTURES)
    assert sorted(path.name for path in FOLDER.iterdir()) == sorted(PICTURES)
