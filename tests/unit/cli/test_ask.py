"""``fillwright ask`` in this process: input, answer, error, many lines."""

from __future__ import annotations

import json

import pytest

from fillwright.questions import QUESTIONS, answer, find

SHORTAGE = {"rules": "EU-76/211", "nominal": 250, "unit": "mL"}


def test_an_answer_is_json_and_ends_with_0(command):
    """The answer stands on standard output, nothing on the other."""
    ended = command("ask", "shortage", stdin=json.dumps(SHORTAGE).encode())

    assert (ended.status, ended.err) == (0, "")
    assert json.loads(ended.out) == answer("shortage", SHORTAGE)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_the_input_may_be_a_file(command, tmp_path, encoding):
    """A file is read in the encodings that editors and shells write."""
    (tmp_path / "in.json").write_text(json.dumps(SHORTAGE), encoding)

    ended = command("ask", "shortage", "--input", "in.json")

    assert ended.status == 0
    assert json.loads(ended.out)["T"] == "9"


@pytest.mark.parametrize(
    ("words", "stdin", "code", "field"),
    [
        (["ask", "shortage"], b"{}", "missing", "rules"),
        (["ask", "shortage"], b"", "type", "input"),
        (["ask", "shortage"], b"\x80\x00\x01", "type", "standard input"),
        (["ask", "shortage"], b'{"nominel": 1}', "unknown-field", "nominel"),
        (["ask", "shortege"], b"{}", "choice", "question"),
        (["ask", "shortege", "--many"], b"{}", "choice", "question"),
        (["ask", "shortege", "--schema"], b"", "choice", "question"),
        (["ask"], b"", "missing", "question"),
        (["ask", "shortage", "--input", "none.json"], b"", "missing", "none.json"),
        (["ask", "shortage", "--input", "."], b"", "type", "."),
        (["ask", "shortage", "--many", "--input", "none.json"], b"", "missing", "none.json"),
    ],
)
def test_a_bad_input_ends_with_2(command, words, stdin, code, field):
    """The error stands as JSON on standard output, its sentence on standard error."""
    ended = command(*words, stdin=stdin)

    error = json.loads(ended.out)["error"]
    assert ended.status == 2
    assert (error["code"], error["field"]) == (code, field)
    assert ended.err.strip() == error["message"]
    assert "Traceback" not in ended.err


def test_no_byte_of_the_input_is_replaced(command):
    """A byte that is no UTF-8 is refused, and not read as a letter of some code page."""
    ended = command("ask", "shortage", stdin=b'{"rules": "EU-76/211\xff", "nominal": 1}')

    assert ended.status == 2
    assert ended.err == "standard input: this is not UTF-8 text; save it as UTF-8.\n"


def test_the_list_holds_every_question(command):
    """Each question stands in the list with its line, within 80 columns."""
    ended = command("ask", "--list")

    assert ended.status == 0
    for question in QUESTIONS.values():
        assert f"  {question.name} " in ended.out
        assert question.line in ended.out
    assert max(len(line) for line in ended.out.splitlines()) <= 80


def test_the_schema_is_printed(command):
    """Both sides of a question are printed as JSON Schema."""
    ended = command("ask", "lot-test", "--schema")

    both = json.loads(ended.out)
    assert ended.status == 0
    assert "sample" in both["input"]["properties"]
    assert "T1_limit" in both["output"]["properties"]


def test_many_lines_are_answered_in_order(command):
    """One line out for each line in, bad ones in their place; any bad one ends with 2."""
    good = json.dumps(find("chart-constants").example)
    lines = [good, "", "{", '{"subgroup_size": 1}', good]

    ended = command("ask", "chart-constants", "--many", stdin="\n".join(lines).encode() + b"\n")

    found = [json.loads(line) for line in ended.out.splitlines()]
    assert ended.status == 2
    assert ["error" in one for one in found] == [False, True, True, True, False]
    assert [line.split(":")[0] for line in ended.err.splitlines()] == [
        "line 2",
        "line 3",
        "line 4",
    ]


def test_many_good_lines_end_with_0(command):
    """Without a bad line the command ends with 0; no line is added at the end."""
    good = json.dumps(find("chart-constants").example)

    ended = command("ask", "chart-constants", "--many", stdin=f"{good}\n{good}".encode())

    assert (ended.status, len(ended.out.splitlines()), ended.err) == (0, 2, "")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_many_lines_in_other_encodings(command, encoding):
    """A byte order mark and UTF-16 are understood line by line."""
    good = json.dumps(find("chart-constants").example)

    ended = command("ask", "chart-constants", "--many", stdin=f"{good}\n{good}\n".encode(encoding))

    assert (ended.status, len(ended.out.splitlines())) == (0, 2)


def test_bytes_that_are_no_text_spoil_their_line_only(command):
    """A line of other bytes gets its error, the next one its answer."""
    good = json.dumps(find("chart-constants").example).encode()

    ended = command("ask", "chart-constants", "--many", stdin=b"\xff\xf0\n" + good + b"\n")

    first, second = (json.loads(line) for line in ended.out.splitlines())
    assert ended.status == 2
    assert first["error"]["code"] == "type"
    assert second["c4"] > 0


def test_a_terminal_without_our_signs_gets_plain_json(command):
    """On a terminal that knows ASCII only the JSON is ASCII, and the same."""
    given = {"temp_c": 20, "pressure_hpa": 1013.25, "relative_humidity_percent": 50}

    ended = command("ask", "air-density", stdin=json.dumps(given).encode(), encoding="ascii")

    assert ended.status == 0
    assert json.loads(ended.out) == answer("air-density", given)
