"""Sheets for the papers of weights that came from a file, and writing them as PDF."""

from __future__ import annotations

import zlib
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fillwright import __version__
from fillwright.cli import files, terminal

if TYPE_CHECKING:
    from fillwright.cli.lot_case import Judged
    from fillwright.cli.prove_case import Proved
    from fillwright.records.entries import LotJudged
    from fillwright.records.sheets import FactLine

__all__ = [
    "PaperOption",
    "PaperSize",
    "PdfOption",
    "TitleOption",
    "print_lot",
    "print_proof",
]


class PaperSize(StrEnum):
    """Sizes of paper."""

    A4 = "a4"
    US_LETTER = "us-letter"


PdfOption = Annotated[
    Path | None, typer.Option("--pdf", metavar="FILE", help="Write the judgement as a PDF too.")
]
PaperOption = Annotated[PaperSize, typer.Option("--paper", help="Size of the paper.")]
TitleOption = Annotated[
    str | None,
    typer.Option("--title", metavar="TEXT", help="Product or lot, as the paper calls it."),
]


def print_lot(judged: Judged, *, to: Path, size: PaperSize, title: str | None) -> None:
    """Write the judgement of a lot as a PDF.

    Parameters
    ----------
    judged : Judged
        The judgement.
    to : Path
        The file; replaced when it is there.
    size : PaperSize
        Size of the paper.
    title : str or None
        What the paper is called; the name of the file of weights when left out.

    Raises
    ------
    BadInput
        If the file cannot be written.
    """
    from fillwright.cli.lot_words import shown  # noqa: PLC0415  loaded when asked
    from fillwright.records.charts import LotChart  # noqa: PLC0415  loaded when asked
    from fillwright.records.sheets import LotLine, LotSheet, Paper  # noqa: PLC0415  when asked
    from fillwright.report.pdf import print_sheet  # noqa: PLC0415  loaded when asked

    verdict = judged.verdict
    now = datetime.now(UTC)
    sheet = LotSheet(
        title=title or Path(judged.case.first.source).name,
        source=judged.case.first.source,
        made_at=now,
        zone="UTC",
        lot=_lot_judged(judged),
        lines=tuple(
            LotLine(
                row=f"row {package.weight.row}",
                shown=package.weight.shown,
                net_g=package.weight.net_g,
                content=shown(package.content) if verdict.unit == "mL" else "",
                sample=package.sample,
                state=judged.state_of(package.content),
                left_out="" if package.is_used else "not in the sample of the plan",
            )
            for package in judged.packages()
        ),
        program=f"Fillwright {__version__}",
        facts=_lot_facts(judged),
        content_formula=judged.content_formula(),
        chart=LotChart(
            values_label_unit=tuple(
                float(package.content) for package in judged.packages() if package.is_used
            ),
            nominal=verdict.nominal,
            mean=verdict.mean,
            limit=verdict.limit,
            t1_label_unit=verdict.t1_limit,
            t2_label_unit=verdict.t2_limit,
            unit=judged.case.label.unit,
            words="containers",
        ),
    )
    files.write_whole(to, print_sheet(sheet, paper=Paper(size.value), way=terminal.way()))


def _lot_judged(judged: Judged) -> LotJudged:
    """Return the verdict as the papers take it."""
    from fillwright.records.judgement import lot_judged  # noqa: PLC0415  loaded when asked

    return lot_judged(
        judged.verdict,
        rules=judged.rules,
        n=judged.used + len(judged.second),
        first_n=judged.used,
        cited=[judged.case.own_source] if judged.case.own_source else [],
        program=f"Fillwright {__version__}",
    )


def _lot_facts(judged: Judged) -> tuple[FactLine, ...]:
    """Return what was given, line by line."""
    from fillwright.records.sheets import FactLine as Line  # noqa: PLC0415  loaded when asked

    case = judged.case
    facts = [
        ("Label", case.label.words()),
        ("Weights", case.first.how),
        ("Second sample", "" if case.second is None else case.second.source),
        ("Density at 20 °C", "" if case.density_g_per_ml is None else _density(judged)),
        ("Average empty", "" if case.empties is None else case.empties.words()),
        ("Tare", judged.tare_words),
        ("Doubt", judged.doubt()),
        ("Own plan from", case.own_source),
    ]
    return tuple(Line(name=name, words=words) for name, words in facts if words)


def _density(judged: Judged) -> str:
    """Return the density with how it was used."""
    case = judged.case
    way = "weighed in air" if case.is_apparent else "true, corrected for the buoyancy of air"
    return f"{case.density_g_per_ml} g/mL, {way}"


def print_proof(proved: Proved, *, to: Path, size: PaperSize, title: str | None) -> None:
    """Write what readings prove as a PDF.

    Parameters
    ----------
    proved : Proved
        The proof.
    to : Path
        The file; replaced when it is there.
    size : PaperSize
        Size of the paper.
    title : str or None
        What the paper is called; the name of the file of readings when left out.

    Raises
    ------
    BadInput
        If the file cannot be written.
    """
    from fillwright.records.charts import ProofChart, ProofShot  # noqa: PLC0415  when asked
    from fillwright.records.entries import ProofJudged  # noqa: PLC0415  loaded when asked
    from fillwright.records.proofplot import probability_plot  # noqa: PLC0415  when asked
    from fillwright.records.sheets import (  # noqa: PLC0415  loaded when asked
        FactLine,
        Paper,
        ProofLine,
        ProofSheet,
    )
    from fillwright.records.units import pct_from_share  # noqa: PLC0415  loaded when asked
    from fillwright.report.pdf import print_sheet  # noqa: PLC0415  loaded when asked

    answer, claim, read = proved.answer, proved.claim, proved.read
    half_g = claim.target_g * claim.tolerance_pct / 100
    decimals = max(0, *(-int(value.as_tuple().exponent) for value in read.net_g))
    is_void = answer.verdict in ("not-steady", "scale-too-coarse")
    # The same readings draw the same envelope again.
    seed = zlib.crc32(" ".join(f"{value:f}" for value in read.net_g).encode())
    sheet = ProofSheet(
        title=title or Path(read.source).name,
        source=read.source,
        made_at=datetime.now(UTC),
        zone="UTC",
        proof=ProofJudged(
            verdict=answer.verdict,
            shots=answer.n,
            set_aside=0,
            mean_g=answer.mean,
            sd_g=answer.sd,
            k=answer.k,
            half_width_g=answer.half_width_g,
            half_width_pct=answer.half_width_percent,
            within_aim_g=answer.claim_half_width_g,
            content_provable_pct=pct_from_share(answer.content_provable),
            because=answer.because,
            equation="; ".join(answer.sources),
            assumptions=answer.assumptions,
            spread_g=answer.spread_g,
            spread_upper_g=answer.spread_upper_g,
            one_sided_k_factor=answer.k_one_sided,
            free_content_pct=pct_from_share(answer.free_content),
            free_shots=answer.free_n,
            content_most_pct=pct_from_share(answer.content_upper),
            plot_seed=seed,
        ),
        aim_g=claim.target_g,
        claim_pct=claim.tolerance_pct,
        content_pct=claim.content_pct,
        confidence_pct=claim.confidence_pct,
        lines=tuple(
            ProofLine(row=f"row {weight.row}", shown=weight.shown, net_g=weight.net_g)
            for weight in read.weights
        ),
        program=f"Fillwright {__version__}",
        facts=(
            FactLine(name="Claim", words=claim.words()),
            FactLine(name="Readings", words=read.how),
        ),
        chart=ProofChart(
            shots=tuple(ProofShot(net_g=value) for value in read.net_g),
            planned=answer.n,
            aim_g=claim.target_g,
            claim_low_g=claim.target_g - half_g,
            claim_high_g=claim.target_g + half_g,
            claim_pct=claim.tolerance_pct,
            within_low_g=None if is_void else answer.mean - answer.half_width_g,
            within_high_g=None if is_void else answer.mean + answer.half_width_g,
            decimals=decimals,
        ),
        plot=probability_plot(
            read.net_g, step_g=claim.readability_g, seed=seed, decimals=decimals
        ),
    )
    files.write_whole(to, print_sheet(sheet, paper=Paper(size.value), way=terminal.way()))
