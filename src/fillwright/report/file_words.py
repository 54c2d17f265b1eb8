"""The papers of weights that came from a file: the judgement of a lot, the proof."""

from __future__ import annotations

from fillwright.records.proofwords import PROOF_MARKS, proof_headline
from fillwright.records.sheets import LotSheet, ProofSheet
from fillwright.report.blocks import (
    Block,
    Line,
    Pictures,
    facts,
    head,
    lines,
    para,
    title,
    verdict,
)
from fillwright.report.lot_words import (
    basis_words,
    by_hand,
    is_unchecked,
    lot_headline,
    lot_size_words,
    rule_rows,
    sample_list,
    told,
)
from fillwright.report.proof_words import PLOT_CAPTION, proof_by_hand
from fillwright.report.wording import exact, stamped

__all__ = ["lot_blocks", "proof_blocks"]


def lot_blocks(sheet: LotSheet, pictures: Pictures) -> list[Block]:
    """Return the blocks of the paper of a lot."""
    lot = sheet.lot
    mark, words = lot_headline(lot)
    below = [
        lot.because,
        lot_size_words(lot, "container"),
        f"Rule set {lot.rules}, {lot.edition}" + (f"; plan: {lot.plan}." if lot.plan else "."),
        f"Tables used: {basis_words(lot)}." if lot.basis else "",
    ]
    strong = ["Table not checked against the source." if is_unchecked(lot) else ""]
    return [
        title(sheet.title, [f"Label {lot.nominal} {lot.unit}", f"Weights from {sheet.source}"]),
        verdict(pictures.mark(mark), words, below, strong=strong),
        rule_rows(lot, word="container"),
        *pictures.chart(sheet.chart, "The sample against the limits."),
        head("To check by hand"),
        *by_hand(lot, content_formula=sheet.content_formula),
        head("What was given"),
        facts((line.name, line.words) for line in sheet.facts),
        *told(lot),
        head(f"Weights: {len(sheet.lines)}"),
        *sample_list(sheet.lines, unit=lot.unit, columns=2 if lot.unit == "mL" else 3),
        *_end(sheet),
    ]


def proof_blocks(sheet: ProofSheet, pictures: Pictures) -> list[Block]:
    """Return the blocks of the paper of a proof."""
    proof = sheet.proof
    mark = PROOF_MARKS.get(proof.verdict, "held")
    claim = f"\u00b1{exact(sheet.claim_pct.normalize())} %"
    about = (
        f"Claim: {exact(sheet.content_pct.normalize())} of 100 doses within {claim} of"
        f" {exact(sheet.aim_g)} g, at {exact(sheet.confidence_pct.normalize())} % confidence."
    )
    headline = proof_headline(proof.verdict, sheet.claim_pct)
    items: list[Line] = [
        {
            "lead": line.row,
            "text": f"({exact(line.net_g)} g)" if line.set_aside else f"{exact(line.net_g)} g",
            "after": f"set aside: {line.set_aside}" if line.set_aside else "",
            "is_reason": bool(line.set_aside),
            "is_struck": False,
        }
        for line in sheet.lines
    ]
    caption = "Each shot against the claim; the dashed box is where the doses stay."
    return [
        title(sheet.title, [f"Readings from {sheet.source}"]),
        verdict(pictures.mark(mark), headline, [proof.because, about], strong=()),
        *pictures.chart(sheet.chart, caption),
        head("To check by hand"),
        *proof_by_hand(proof, None, confidence_pct=sheet.confidence_pct),
        *pictures.chart(sheet.plot, PLOT_CAPTION),
        *([head("What was given")] if sheet.facts else []),
        *([facts((line.name, line.words) for line in sheet.facts)] if sheet.facts else []),
        head(f"Readings: {len(sheet.lines)}"),
        *para("In the order they were filled; those in brackets are set aside and not used."),
        *lines(items, columns=3),
        *_end(sheet),
    ]


def _end(sheet: LotSheet | ProofSheet) -> list[Block]:
    """Return where the paper comes from."""
    return [
        head("This paper"),
        facts(
            [
                ("Printed by", sheet.program),
                ("Judged at", stamped(sheet.made_at, sheet.zone)),
            ]
        ),
    ]
