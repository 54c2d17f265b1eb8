"""``fillwright lot``: judge a lot whose weights stand in a file."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fillwright.cli import files, readings, terminal
from fillwright.cli.papers import PaperOption, PaperSize, PdfOption, TitleOption
from fillwright.cli.readings import (
    ColumnOption,
    DecimalOption,
    NetOption,
    Reading,
    TareFileOption,
    TareOption,
    exact,
)
from fillwright.errors import BadInput

if TYPE_CHECKING:
    from decimal import Decimal

    from fillwright.science.quantity import OwnPlan, SuppliedShortage

__all__ = ["lot"]

_FIGURES_OF_A_PLAN = 4
_COUNT = re.compile(r"[0-9]{1,9}")


def lot(
    weights: Annotated[
        Path, typer.Argument(metavar="WEIGHTS", help="CSV or .xlsx file; - is standard input.")
    ],
    *,
    nominal: Annotated[
        str, typer.Option("--nominal", metavar="TEXT", help="What the label declares: '250 mL'.")
    ],
    rules: Annotated[
        str, typer.Option("--rules", metavar="NAME", help="Rule set, such as EU-76/211.")
    ],
    lot_size: Annotated[int, typer.Option("--lot-size", min=1, help="Packages in the lot.")],
    density: Annotated[
        str | None,
        typer.Option("--density", metavar="G/ML", help="Density at 20 °C, for a label in mL."),
    ] = None,
    apparent: Annotated[
        bool,
        typer.Option("--apparent", help="The density was weighed in air: no buoyancy on top."),
    ] = False,
    plan: Annotated[
        str | None,
        typer.Option("--plan", metavar="NAME", help="single, double, destructive or census."),
    ] = None,
    second_sample: Annotated[
        Path | None,
        typer.Option("--second-sample", metavar="FILE", help="Second sample of a double plan."),
    ] = None,
    own_plan: Annotated[
        str | None,
        typer.Option("--own-plan", metavar="N,K,AC,T2", help="Plan typed from a document."),
    ] = None,
    own_source: Annotated[
        str | None,
        typer.Option("--own-source", metavar="TEXT", help="Which document, edition and page."),
    ] = None,
    mav: Annotated[
        str | None,
        typer.Option("--mav", metavar="VALUE", help="Allowed variation, where none is held."),
    ] = None,
    mav_edition: Annotated[
        str | None, typer.Option("--mav-edition", metavar="TEXT", help="Edition it stands in.")
    ] = None,
    mav_page: Annotated[
        str | None, typer.Option("--mav-page", metavar="TEXT", help="Page or table of it.")
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
    """Judge a lot by the weights in a file.

    Prints the verdict first, then the reasons and the figures to check by hand.
    Weights are read in drawing order, from the column headed net or gross. Ends with 0 for
    a verdict, whatever it is, and with 2 for a bad input.
    """
    from fillwright.cli.labels import label_of  # noqa: PLC0415  loaded when asked
    from fillwright.cli.lot_case import Case, judge  # noqa: PLC0415  loaded when asked
    from fillwright.cli.lot_words import lot_text  # noqa: PLC0415  loaded when asked

    label = label_of(nominal)
    how = Reading(column=column, is_net=net, tare=tare, tare_file=tare_file, decimal=decimal)
    empties = how.empties()
    case = Case(
        label=label,
        rules=rules,
        lot_size=lot_size,
        density_g_per_ml=_density(density, label.unit),
        is_apparent=apparent,
        plan=plan,
        supplied=_supplied(mav, mav_edition, mav_page, label.unit),
        own_plan=_own(own_plan, own_source),
        own_source=own_source or "",
        empties=empties,
        first=how.weights(weights, empties),
        second=None if second_sample is None else how.weights(second_sample, empties),
    )
    judged = judge(case)
    if pdf is not None:
        files.refuse_input(pdf, weights, second_sample, tare_file)
        from fillwright.cli.papers import print_lot  # noqa: PLC0415  loaded when asked

        print_lot(judged, to=pdf, size=paper, title=title)
    if as_json:
        from fillwright.questions.contents import lot_answer  # noqa: PLC0415  when asked

        document = lot_answer(judged.verdict).model_dump(mode="json", by_alias=True)
        terminal.say_json({**document, **judged.as_read()})
        return
    terminal.say(lot_text(judged))
    if pdf is not None:
        terminal.say(f"\nWritten to {pdf}.")


def _density(text: str | None, unit: str) -> Decimal | None:
    """Return the density, which a label in mL needs and one in g does not."""
    if unit == "g":
        if text is not None:
            message = "--density is given for a label in g, which needs none; leave it out."
            raise BadInput(message, field="--density", given=text, code="inconsistent")
        return None
    if text is None:
        message = "--density is missing; a label in mL needs the density at 20 °C in g/mL."
        raise BadInput(message, field="--density", allowed="g/mL", code="missing")
    # No density has thousands, so a comma is its decimal mark.
    value = exact(text.replace(",", "."), "--density", above=0, unit="g/mL")
    if not readings.LIGHTEST <= value <= readings.DENSEST:
        message = f"--density is {text}; give g/mL, such as 0.985."
        raise BadInput(message, field="--density", given=text, allowed="0.01 to 25 g/mL")
    return value


def _supplied(
    value: str | None, edition: str | None, page: str | None, unit: str
) -> SuppliedShortage | None:
    """Return the variation typed from a document, with its place there, in g or mL."""
    if value is None:
        if edition is not None or page is not None:
            message = "--mav is missing beside its edition or page; give the figure itself."
            raise BadInput(message, field="--mav", allowed="a number", code="missing")
        return None
    if not edition or not page:
        message = "--mav needs --mav-edition and --mav-page; they go into the report."
        raise BadInput(message, field="--mav-edition", allowed="both", code="missing")
    from fillwright.science.quantity import SuppliedShortage as Found  # noqa: PLC0415  when asked

    found = exact(value, "--mav", above=0, unit=unit)
    return Found(value=found, edition=edition, page=page)


def _own(text: str | None, source: str | None) -> OwnPlan | None:
    """Return the plan typed from a document."""
    if text is None:
        if source is not None:
            message = "--own-source is given without --own-plan; give the plan as N,K,AC,T2."
            raise BadInput(message, field="--own-plan", allowed="N,K,AC,T2", code="missing")
        return None
    if not source:
        message = "--own-plan needs --own-source: the document, its edition and page."
        raise BadInput(message, field="--own-source", allowed="text", code="missing")
    parts = [part.strip() for part in text.split(";" if ";" in text else ",")]
    if len(parts) != _FIGURES_OF_A_PLAN or not all(
        _COUNT.fullmatch(parts[at]) for at in (0, 2, 3)
    ):
        message = f"--own-plan is {text!r}; give N,K,AC,T2 such as 50,0.379,3,0."
        raise BadInput(message, field="--own-plan", given=text, allowed="N,K,AC,T2", code="type")
    from fillwright.science.quantity import OwnPlan as Found  # noqa: PLC0415  when asked

    return Found(
        n=int(parts[0]),
        k=exact(parts[1], "--own-plan", least=0, most=1000),
        acceptance_number=int(parts[2]),
        t2_allowed=int(parts[3]),
    )
