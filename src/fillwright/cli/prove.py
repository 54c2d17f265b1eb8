"""``fillwright prove``: what readings in a file prove about single doses."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from fillwright.cli import files, terminal
from fillwright.cli.papers import PaperOption, PaperSize, PdfOption, TitleOption
from fillwright.cli.readings import (
    ColumnOption,
    DecimalOption,
    NetOption,
    Reading,
    TareFileOption,
    TareOption,
    exact,
    share_of_percent,
)

__all__ = ["prove"]


def prove(
    weights: Annotated[
        Path, typer.Argument(metavar="READINGS", help="CSV or .xlsx file; - is standard input.")
    ],
    *,
    target: Annotated[
        str, typer.Option("--target", metavar="G", help="What the claim is about, net in g.")
    ],
    tolerance: Annotated[
        str, typer.Option("--tolerance", metavar="PERCENT", help="Half width of the claim.")
    ],
    content: Annotated[
        str, typer.Option("--content", metavar="PERCENT", help="Share of doses claimed inside.")
    ] = "99",
    confidence: Annotated[
        str, typer.Option("--confidence", metavar="PERCENT", help="Confidence of the claim.")
    ] = "95",
    readability: Annotated[
        str | None,
        typer.Option("--readability", metavar="G", help="Step of the weighing scale."),
    ] = None,
    tare: TareOption = None,
    tare_file: TareFileOption = None,
    net: NetOption = False,
    column: ColumnOption = None,
    decimal: DecimalOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    pdf: PdfOption = None,
    paper: PaperOption = PaperSize.A4,
    title: TitleOption = None,
) -> None:
    """Say what readings in a file prove about doses.

    Prints the verdict first, then the reasons and the figures to check by hand.
    Readings are taken in the order of the file. Ends with 0 for a verdict, whatever it is,
    and with 2 for a bad input.
    """
    from fillwright.cli.prove_case import Claim, proof_text, prove  # noqa: PLC0415  when asked

    claim = Claim(
        target_g=exact(target, "--target", above=0, most=1_000_000, unit="g"),
        tolerance_pct=exact(tolerance.rstrip("% "), "--tolerance", above=0, most=100),
        content_pct=share_of_percent(content, "--content"),
        confidence_pct=share_of_percent(confidence, "--confidence"),
        readability_g=Decimal(0)
        if readability is None
        else exact(readability, "--readability", least=0, most=1000, unit="g"),
    )
    how = Reading(column=column, is_net=net, tare=tare, tare_file=tare_file, decimal=decimal)
    proved = prove(claim, how.weights(weights, how.empties()))
    if pdf is not None:
        files.refuse_input(pdf, weights, tare_file)
        from fillwright.cli.papers import print_proof  # noqa: PLC0415  loaded when asked

        print_proof(proved, to=pdf, size=paper, title=title)
    if as_json:
        document = proved.answer.model_dump(mode="json", by_alias=True)
        as_read = {
            "file": proved.read.source,
            "how": proved.read.how,
            "net_g": [f"{value:f}" for value in proved.read.net_g],
        }
        terminal.say_json({**document, "as_read": as_read})
        return
    terminal.say(proof_text(proved))
    if pdf is not None:
        terminal.say(f"\nWritten to {pdf}.")
