"""The verdict on a lot for the terminal: the verdict first, then reasons, then figures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

from fillwright.cli.lot_case import Judged
from fillwright.cli.terminal import loud, wrapped
from fillwright.science.quantity import LotVerdict
from fillwright.science.quantity.shortage import NOT_CHECKED

__all__ = ["lot_text", "shown"]

_HEADLINES: Final = {
    "accepted": "Accepted",
    "rejected": "Rejected",
    "second-sample": "Draw a second sample",
    "sample-too-small": "Sample too small",
    "no-plan": "No plan for this lot",
    "out-of-scope": "Outside these rules",
    "not-evaluated": "Not evaluated",
}
_MOST_LISTED: Final = 20
_DIGITS: Final = 6


def lot_text(judged: Judged) -> str:
    """Return what the terminal shows of a verdict.

    Parameters
    ----------
    judged : Judged
        The verdict with what it was given on.

    Returns
    -------
    str
        Lines of text.
    """
    verdict = judged.verdict
    parts = [_headline(verdict), wrapped(verdict.because)]
    if judged.doubt():
        parts.append(wrapped(judged.doubt()))
    if verdict.compliant is False and verdict.verdict.value == "accepted":
        parts.append(wrapped("Take out each package below T2 before the goods are marked."))
    if any(note.startswith(NOT_CHECKED) for note in verdict.notes):
        parts.append("Table not checked against the source; see the notes.")
    sections = [
        ("To check by hand", _by_hand(judged)),
        ("Short packages", _short(judged)),
        ("How it was read", _as_read(judged)),
        ("Notes", [f"- {note}" for note in verdict.notes]),
        ("Assumptions", [f"- {text}" for text in verdict.assumptions]),
        ("Sources", [f"- {text}" for text in verdict.sources]),
    ]
    for head, lines in sections:
        if lines:
            parts += ["", head, *(wrapped(line, lead="  ", indent="    ") for line in lines)]
    return "\n".join(parts)


def shown(content: Decimal | Fraction | float) -> str:
    """Return a content for reading: the decimal as it stands, six figures where it has no end."""
    if isinstance(content, Decimal):
        return f"{content:f}"
    return f"{float(content):.{_DIGITS}g}"


def _headline(verdict: LotVerdict) -> str:
    """Return the verdict in a word or two."""
    words = _HEADLINES[verdict.verdict.value]
    if verdict.verdict.value == "accepted" and verdict.compliant is False:
        words += ", but not compliant"
    if verdict.cannot_pass:
        words += "; it cannot pass any more"
    return loud(words)


def _by_hand(judged: Judged) -> list[str]:
    """Return the calculation with its numbers filled in."""
    v, unit, label = judged.verdict, judged.verdict.unit, judged.case.label
    lines = [f"label {label.words()}, lot of {v.lot_size}, {len(judged.first)} weighed"]
    if v.plan_row is not None:
        lines.append(f"plan: {v.plan_row}; draw {v.required_n}" + _missing(v))
    if judged.content_formula():
        lines.append(judged.content_formula())
    if v.t is not None:
        lines += [
            f"T = {v.t} {unit}",
            f"T1 = {label.nominal:f} − {v.t} = {v.t1_limit} {unit}",
            f"T2 = {label.nominal:f} − 2 × {v.t} = {v.t2_limit} {unit}",
        ]
    if v.mean is not None and v.mean_error is not None:
        first = "" if v.mean_n == len(judged.first) else f", the first {v.mean_n} of the file"
        lines.append(f"n = {v.mean_n} for the mean{first}")
        lines.append(f"mean = {shown(v.mean)} {unit}, mean error {v.mean_error:+.5g} {unit}")
    if v.s is not None:
        lines.append(f"s = {v.s:.6g} {unit}, divisor n − 1")
    if v.k is not None and v.s is not None and v.limit is not None:
        lines.append(
            f"limit = label − k × s = {label.nominal:f} − {v.k} × {v.s:.6g} "
            f"= {shown(v.limit)} {unit}"
        )
    if v.margin is not None:
        lines.append(f"margin = mean − limit = {v.margin:+.5g} {unit}")
    return lines + _counts(judged)


def _missing(verdict: LotVerdict) -> str:
    """Return how many weights are still missing, or nothing."""
    return f", {verdict.missing} still missing" if verdict.missing else ""


def _counts(judged: Judged) -> list[str]:
    """Return the counts of short packages with their limits."""
    v = judged.verdict
    lines: list[str] = []
    if v.count_below_t1 is not None:
        words = f"below T1: {v.count_below_t1} of {judged.used}"
        lines.append(words + _limits(v.acceptance_number, v.rejection_number))
    if v.count_below_t1_total is not None:
        both = judged.used + len(judged.second)
        words = f"below T1 over both samples: {v.count_below_t1_total} of {both}"
        lines.append(words + _limits(v.acceptance_number_2, v.rejection_number_2))
    if v.count_below_t2 is not None:
        both = judged.used + len(judged.second)
        lines.append(f"below T2: {v.count_below_t2} of {both}")
    if v.count_beyond_mav is not None:
        lines.append(f"short by more than the allowed variation: {v.count_beyond_mav}")
    if lines:
        lines.append("decided on exact numbers; figures are rounded here for reading only")
    return lines


def _limits(accept: int | None, reject: int | None) -> str:
    """Return acceptance and rejection number in words."""
    if accept is None or reject is None:
        return ""
    return f" (accepted up to {accept}, rejected from {reject})"


def _short(judged: Judged) -> list[str]:
    """Return the packages that are short, with the rows they stand in."""
    lines = []
    unit = judged.verdict.unit
    for package in judged.packages():
        state = judged.state_of(package.content)
        if state:
            far = "below T2" if state == "far-short" else "below T1"
            second = ", second sample" if package.sample > 1 else ""
            unused = "" if package.is_used else ", not in the sample"
            volume = f" = {shown(package.content)} mL" if unit == "mL" else ""
            weight = package.weight
            lines.append(f"row {weight.row}: {weight.net_g:f} g{volume}, {far}{second}{unused}")
    if len(lines) > _MOST_LISTED:
        more = len(lines) - _MOST_LISTED
        return [*lines[:_MOST_LISTED], f"and {more} more"]
    return lines


def _as_read(judged: Judged) -> list[str]:
    """Return how the files were read."""
    case = judged.case
    lines = [f"{case.first.source}: {case.first.how}"]
    if case.second is not None:
        lines.append(f"{case.second.source}: {case.second.how}")
    if case.empties is not None:
        lines.append(f"average empty {case.empties.words()}")
    if judged.tare_words:
        lines.append(judged.tare_words)
    if case.own_source:
        lines.append(f"plan typed from {case.own_source}")
    lines.append(f"rules {judged.rules.name}, {judged.rules.edition}")
    return lines
