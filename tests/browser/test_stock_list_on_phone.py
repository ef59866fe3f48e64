"""The owner brings a spreadsheet's list in on a phone: looks at it, puts it right, takes it in, and prints labels."""

from __future__ import annotations

from pathlib import Path

from tests.browser.conftest import OpenPhone
from tests.browser.test_three_moments import fits_the_phone

LIST = """Number;Name;Kind;Pitch (mm);Colour;Bin;Quantity
X-1;4-way 2.0 mm header;connector;2,0;white;SHELF 9-1;twelve
X-2;"A fan with a name
on two lines, مروحة";fan;;;SHELF 9-2;3
"""


def test_a_list_is_looked_at_put_right_and_taken_in(phone: OpenPhone, tmp_path: Path) -> None:
    file = tmp_path / "shop.csv"
    file.write_bytes(LIST.encode("utf-16"))
    page = phone("odile")
    page.goto("/more")
    page.get_by_role("link", name="From a spreadsheet").tap()
    page.get_by_label("A file").set_input_files(file)
    page.get_by_role("button", name="Look at it").tap()
    page.get_by_text("Row 2, Quantity").wait_for()
    fits_the_phone(page)
    text = page.get_by_label("Or the cells, pasted with their headings")
    assert text.input_value() == LIST  # to the letter: as much as the file said, a first line included
    text.fill(LIST.replace("twelve", "12"))
    page.get_by_role("button", name="Look again").tap()
    page.get_by_role("button", name="Take it in").wait_for()
    page.get_by_label("Colour").check()
    fits_the_phone(page)
    page.get_by_role("button", name="Take it in").tap()
    page.get_by_role("heading", name="Taken in: 2 rows").wait_for()
    fits_the_phone(page)
    page.get_by_role("link", name="Print the labels of its 2 bins").tap()
    page.get_by_text("SHELF 9-2").first.wait_for()


def test_it_works_without_a_line_of_javascript(phone: OpenPhone) -> None:
    page = phone("odile", java_script_enabled=False)
    page.goto("/stock-lists")
    page.get_by_label("Or the cells, pasted with their headings").fill("number\tname\tbin\nY-1\tclip\tSHELF 9-7")
    page.get_by_role("button", name="Look at it").click()
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", name="Taken in: 1 row").wait_for()
    with page.expect_download() as file:
        page.goto("/stock-lists")
        page.get_by_role("link", name="The whole stock").click()
    assert "\nY-1,clip,other,counted,piece," in Path(file.value.path()).read_text(encoding="utf-8-sig")
