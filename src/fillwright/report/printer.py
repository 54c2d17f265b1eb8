"""Runs the printer (typst) over a template: no network, no letters but the shipped ones.

Data go in beside the template, never into it; a warning is a failure.
"""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Final

from fillwright.errors import FillwrightError
from fillwright.language import PLAIN, Way, said_all, tongue_of
from fillwright.records.sheets import Paper
from fillwright.report.letters import fonts_folder, printable

__all__ = ["PrintFailed", "run_printer"]

_STANDARD: Final = ["a-2b"]
_WORDS: Final = {
    "page": "page",
    "of": "of",
    "weights": "Weights by hand, grams",
    "scale": "Volume scale",
    "locked": "wheel locked",
    "aim": "Aim, net",
    "limits": "Limits, net weight",
    "fitted": "Fitted",
    "when": "When to weigh",
    "start": "Before you start",
    "wrong": "If something is wrong",
    "back": "Checks by number",
    "hand-over": "When to hand over",
    "more-checks": "For want of room not here, but on the Fault pages: checks",
    "filled": "Filled by",
    "checked": "Checked by",
}
"""Words that the templates place themselves."""


class PrintFailed(FillwrightError):
    """A paper could not be made; nothing was printed half."""


def run_printer(
    template: str,
    data: dict[str, object],
    files: dict[str, bytes],
    *,
    at: datetime,
    paper: Paper,
    way: Way = PLAIN,
) -> bytes:
    """Run the printer over a template with its data.

    Parameters
    ----------
    template : str
        File of the template.
    data : dict
        What the template needs; every text in it is placed as text.
    files : dict of str to bytes
        Drawings by the name that the data give them.
    at : datetime
        Date of the paper.
    paper : Paper
        Size of the paper.
    way : Way
        Language of the words that the template itself holds, and of its lines.

    Returns
    -------
    bytes
        The file, in PDF/A-2b.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    import typst  # noqa: PLC0415  most commands never print

    folder = Path(__file__).parent / "templates"
    tongue = tongue_of(way.language)
    data = {
        **data,
        "paper": paper.value,
        "words": said_all(_WORDS, way),
        "lang": tongue.tag.partition("-")[0],
        "dir": tongue.direction,
    }
    sources = {name: (folder / name).read_bytes() for name in ("house.typ", template)}
    sources["main.typ"] = sources.pop(template)
    try:
        # The stubs of the printer do not know that it takes files by name.
        result, warnings = typst.compile_with_warnings(  # type: ignore[call-overload]
            sources | files,
            font_paths=[str(fonts_folder())],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(_printable(data))},
            pdf_standards=_STANDARD,
            format="pdf",
            timestamp=int(at.timestamp()),
        )
    except typst.TypstError as error:
        message = f"The paper could not be made: {error}."
        raise PrintFailed(message) from error
    if warnings or not isinstance(result, bytes):
        told = "; ".join(str(warning) for warning in warnings)
        message = f"The paper could not be made as it should look: {told}."
        raise PrintFailed(message)
    return result


def _printable(data: object, *, is_narrow: bool = False) -> object:
    """Return the data of a paper with every text as it can be printed."""
    if isinstance(data, str):
        return printable(data, is_narrow=is_narrow)
    if isinstance(data, dict):
        # A digest stays whole, so that it can be searched for.
        return {
            k: v if k == "digest" else _printable(v, is_narrow=is_narrow or k == "rows")
            for k, v in data.items()
        }
    if isinstance(data, list | tuple):
        return [_printable(value, is_narrow=is_narrow) for value in data]
    return data
