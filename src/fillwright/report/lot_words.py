"""What a paper says of a lot test: the verdict, the three rules, the figures to check by hand."""

from __future__ import annotations

from typing import Final

from fillwright.records.entries import LotJudged
from fillwright.records.sheets import LotLine
from fillwright.report.blocks import Block, Line, formula, lines, notes, para, rows
from fillwright.report.wording import STATES, counted, exact, figure, places_of

__all__ = [
    "basis_words",
    "by_hand",
    "is_unchecked",
    "lot_headline",
    "lot_size_words",
    "rule_rows",
    "sample_list",
    "told",
]

_HEADLINES: Final = {
    "accepted": ("on", "Lot test passed"),
    "rejected": ("stop", "Lot test failed"),
    "second-sample": ("held", "Cannot say yet: second sample"),
    "sample-too-small": ("held", "Cannot say yet: sample too small"),
    "no-plan": ("held", "No verdict: no plan for this lot"),
    "out-of-scope": ("held", "No verdict: outside these rules"),
    "not-evaluated": ("held", "No verdict: shortage not known"),
}
_BASIS: Final = {
    "R": "R read in the source",
    "C": "C computed",
    "M": "M from memory",
    "D": "D own design, no legal force",
    "S": "S typed from a document by the user",
}
_UNCHECKED: Final = "not checked against the source"


def lot_headline(lot: LotJudged) -> tuple[str, str]:
    """Return the mark and the words of a lot's verdict."""
    mark, words = _HEADLINES.get(lot.verdict, ("held", lot.verdict))
    if lot.verdict == "accepted" and lot.is_compliant is False:
        return "stop", f"{words}, but not compliant"
    return mark, words


def is_unchecked(lot: LotJudged) -> bool:
    """Return True when a row of a table was used that nobody checked against its source."""
    return "M" in lot.basis or any(_UNCHECKED in note for note in lot.notes)


def basis_words(lot: LotJudged) -> str:
    """Return how the rows of the tables are held."""
    return "; ".join(_BASIS.get(mark, mark) for mark in dict.fromkeys(lot.basis))


def rule_rows(lot: LotJudged, *, word: str) -> Block:
    """Return the rules with what was found and what is allowed."""
    unit = lot.unit
    found = [
        (
            "Average of the lot",
            f"{figure(lot.mean)} {unit}",
            f"at least {figure(lot.limit)} {unit}",
            _passed(is_ok=lot.is_mean_ok),
        )
    ]
    if lot.t1_limit and lot.individual_test is not None:
        most = lot.acceptance_number
        # The test of single containers knows more answers than yes and no: a second sample.
        answer = {"accepted": "passes", "rejected": "fails"}.get(lot.individual_test, "open")
        found.append(
            (
                f"Short: below T1, {lot.t1_limit} {unit}",
                f"{lot.count_below_t1} of {lot.n}",
                "as the rules say" if most is None else f"at most {most or 'none'}",
                answer,
            )
        )
    if lot.t2_limit and lot.individual_test is not None:
        far = lot.count_below_t2
        found.append(
            (
                f"Far short: below T2, {lot.t2_limit} {unit}",
                f"{far} of {lot.n}",
                "none may go out",
                "passes" if far == 0 else f"take out each such {word}",
            )
        )
    return rows(("Rule", "Found", "Must be", ""), found, widths=(5, 2.6, 3.2, 2.2), right=())


def by_hand(lot: LotJudged, *, content_formula: str) -> list[Block]:
    """Return the calculation with its numbers filled in."""
    unit = lot.unit
    steps = [content_formula] if content_formula else []
    if lot.shortage and lot.t1_limit:
        steps.append(f"T = {lot.shortage} {unit}, the tolerable shortage of one container")
        steps.append(f"T1 = {lot.nominal} \u2212 {lot.shortage} = {lot.t1_limit} {unit}")
    if lot.shortage and lot.t2_limit:
        steps.append(f"T2 = {lot.nominal} \u2212 2 \u00d7 {lot.shortage} = {lot.t2_limit} {unit}")
    if lot.mean is not None:
        places = places_of(lot.mean)
        mean, limit = figure(lot.mean, places=places), figure(lot.limit, places=places)
        sd = figure(lot.sd, places=places + 2)
        error, margin = (figure(v, places=places) for v in (lot.mean_error, lot.margin))
        first = "" if lot.mean_n == lot.n else f", the first {lot.mean_n} in drawing order"
        steps.append(f"n = {lot.mean_n} for the average{first}")
        steps.append(f"mean = sum of contents / n = {mean} {unit}")
        steps.append(f"mean error = {mean} \u2212 {lot.nominal} = {error} {unit}")
        if lot.sd is not None:
            steps.append(f"s = {sd} {unit}, divisor n \u2212 1")
        if lot.k is not None and lot.limit is not None and lot.sd is not None:
            steps.append(
                f"limit = label \u2212 k \u00d7 s = {lot.nominal} \u2212 {lot.k} \u00d7 {sd}"
                f" = {limit} {unit}"
            )
        if lot.margin is not None:
            steps.append(f"margin = mean \u2212 limit = {mean} \u2212 {limit} = {margin} {unit}")
    if lot.first_sample_n:
        steps.append(
            f"first sample: below T1 {lot.first_sample_below_t1} of {lot.first_sample_n}, so a"
            " second was drawn"
        )
    if lot.individual_test is not None:
        steps.append(
            f"below T1: {lot.count_below_t1} of {lot.n}"
            + _numbers(lot.acceptance_number, lot.rejection_number)
        )
        steps.append(f"below T2: {lot.count_below_t2} of {lot.n}")
    words = "Decided on exact numbers; figures are rounded here for reading only."
    return [formula(steps), *para(words)]


def sample_list(sample: tuple[LotLine, ...], *, unit: str, columns: int) -> list[Block]:
    """Return the weights of a lot test in drawing order, left-out ones in brackets."""
    return lines([_line(item, unit) for item in sample], columns=columns)


def told(lot: LotJudged) -> list[Block]:
    """Return the notes and the sources of a verdict."""
    found = notes(_sentence(note) for note in lot.notes)
    return [*found, *notes(f"Source: {source}." for source in lot.sources)]


def lot_size_words(lot: LotJudged, word: str) -> str:
    """Return the size of lot and sample."""
    return f"Lot of {counted(lot.lot_size, word)}, {lot.n} in the sample"


def _line(item: LotLine, unit: str) -> Line:
    """Return one weight of a lot test as a line."""
    content = f" = {item.content} {unit}" if item.content else ""
    net = f"{exact(item.net_g)} g"
    # What a scale showed net is said once.
    shown = "" if item.shown in ("", net, f"{net} net") else f"{item.shown} "
    words = f"{shown}net {net}{content}"
    second = "second sample" if item.sample > 1 else ""
    after = ", ".join(part for part in (second, STATES.get(item.state, item.state)) if part)
    return {
        "lead": item.row,
        "text": f"({words})" if item.left_out else words,
        "after": f"left out: {item.left_out}" if item.left_out else after,
        "is_reason": bool(item.left_out),
        "is_struck": False,
    }


def _passed(*, is_ok: bool | None) -> str:
    """Return the word for a result."""
    return "open" if is_ok is None else "passes" if is_ok else "fails"


def _numbers(accept: int | None, reject: int | None) -> str:
    """Return acceptance and rejection number in words."""
    parts = [] if accept is None else [f"accepted up to {accept}"]
    parts += [] if reject is None else [f"rejected from {reject}"]
    return "; " + ", ".join(parts) if parts else ""


def _sentence(words: str) -> str:
    """Return words as a sentence."""
    words = words.strip()
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", ":")) else ".")
