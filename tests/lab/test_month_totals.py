"""Month totals: read from a file, or counted from a shop's own jobs."""

import gzip

import pytest

from inventory.lab.month_totals import MonthTableError, month_table_from_events, read_month_table
from inventory.reckoning.reorder.demand import event_history

HEADING = "part,2024-01,2024-02,2024-03"


def read(*lines):
    return read_month_table([HEADING, *lines])


def test_it_reads_one_row_a_part_and_one_column_a_month():
    table = read("A1,0,2,0", "B2,1,0,3.0")
    assert table.names == ("A1", "B2")
    assert table.months == ("2024-01", "2024-02", "2024-03")
    assert table.pieces.tolist() == [[0, 2, 0], [1, 0, 3]]
    assert table.starts.tolist() == [0, 0]


def test_it_takes_leading_blanks_as_months_before_the_part_was_kept():
    table = read("A1,,,4", "B2,,,", '"C,3", 1,0,0')
    assert table.starts.tolist() == [2, 3, 0]
    assert table.pieces.tolist() == [[0, 0, 4], [0, 0, 0], [1, 0, 0]]
    assert table.names[2] == "C,3"


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        ([], "The first line must be a heading: the word part, then one column a month."),
        (["part"], "The first line must be a heading: the word part, then one column a month."),
        ([HEADING], "The file has a heading but no parts: add one line a part."),
        ([HEADING, "A1,0,2"], "Line 2 has 3 columns where the heading has 4: give every part one number a month."),
        ([HEADING, "A1,0,1,0", "B2,0,x,0"], "Line 3 has 'x' where a whole number of pieces was expected"),
        ([HEADING, "A1,0,-1,0"], "Line 2 has '-1' where a whole number"),
        ([HEADING, ",,,"], "Line 2 names no part: write its name in the first column, or take the line out."),
        (
            [HEADING, "A1,0,1,0", "B2,0,1,0", "A1,0,0,1"],
            "The part 'A1' has more than one line: add them up into one.",
        ),
        ([HEADING, "A1,0,1.5,0"], "Line 2 has '1.5' where a whole number"),
        ([HEADING, "A1,0,,0"], "Line 2 has '' where a whole number"),
        ([HEADING, "A1,0,9999999,0"], "0 to 100000: correct it."),
        ([HEADING, "A1,0,²,0"], "Line 2 has '²' where"),
        ([HEADING, '"A1,0,1,0'], "The file cannot be read after line 2"),
    ],
)
def test_it_refuses_a_corrupt_table_and_says_where(lines, sentence):
    with pytest.raises(MonthTableError) as refusal:
        read_month_table(lines)
    assert sentence in str(refusal.value)


def test_it_refuses_a_damaged_archive(tmp_path):
    whole = gzip.compress("\n".join([HEADING] + [f"A{i},0,{i % 7},0" for i in range(500)]).encode())
    for name, content in {
        "cut": whole[: len(whole) // 2],
        "no": b"not an archive",
        "bad": whole[:40] + b"\xff" * 99,
    }.items():
        file = tmp_path / name
        file.write_bytes(content)
        with (
            gzip.open(file, "rt") as lines,
            pytest.raises(MonthTableError, match="The file cannot be read after line"),
        ):
            read_month_table(lines)


def test_it_refuses_a_file_that_is_no_text(tmp_path):
    file = tmp_path / "picture"
    file.write_bytes(b"\x89PNG\xff\xfe\x00\x01")
    with file.open(encoding="utf-8") as lines, pytest.raises(MonthTableError, match="cannot be read"):
        read_month_table(lines)


def test_it_counts_a_shops_own_jobs_back_from_today():
    events = event_history(
        part=[0, 0, 0, 0, 1, 1, 1],
        age_days=[1, 29, 31, 89, 5, 95, 70],
        pieces=[2, 1, 4, 8, 3, 9, 6],
        history_days=[100, 62, 10],
        first_job=[False, False, False, False, False, True, False],
        one_off=[False, False, False, True, False, False, False],
    )
    table = month_table_from_events(events, names=["A", "B", "C"])
    assert table.pieces.tolist() == [[0, 4, 3], [0, 0, 3], [0, 0, 0]]
    assert table.starts.tolist() == [0, 1, 3]
    assert table.months == ("-3", "-2", "-1")
