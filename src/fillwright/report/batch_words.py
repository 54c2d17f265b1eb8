"""The batch record: verdict first, then the figures behind it, then every weighing."""

from __future__ import annotations

from fillwright.records.entries import (
    AdjustmentMade,
    RunPaused,
)
from fillwright.records.sheets import BatchRecordSheet, TurnLine
from fillwright.report.blocks import (
    Block,
    Pictures,
    facts,
    head,
    notes,
    pair,
    para,
    rows,
    title,
    verdict,
)
from fillwright.report.held_words import held_blocks
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
from fillwright.report.proof_words import seen_sd, trim_and_proof
from fillwright.report.weighing_words import weighings
from fillwright.report.wording import counted, exact, figure, moment, plural, stamped

__all__ = ["batch_blocks"]


def batch_blocks(sheet: BatchRecordSheet, pictures: Pictures) -> list[Block]:
    """Return the blocks of a batch record in order."""
    job = sheet.facts
    word = job.container.word
    return [
        title(
            job.product.name,
            [
                f"{job.label_words} in {job.container.name}",
                f"Lot code {job.lot_code}, job {job.number}, {job.machine.name}",
                *([f"Filled by {sheet.maker}"] if sheet.maker else []),
            ],
        ),
        _verdict(sheet, pictures),
        *_lot(sheet, pictures, word),
        *_signatures(sheet),
        *held_blocks(sheet, word),
        *_dose_chart(sheet, pictures, word),
        pair([head("Job"), _job(sheet)], [head("Limits"), *_limits(sheet)]),
        *_by_hand(sheet),
        *_turns(sheet),
        *trim_and_proof(sheet, pictures),
        *_checks(sheet),
        *_strikes(sheet),
        *_section("Notes", notes(sheet.notes)),
        *_sample(sheet, word),
        *weighings(sheet.weighings, zone=sheet.zone, tare=sheet.tare, word=word),
        *_end(sheet),
    ]


def _section(words: str, found: list[Block]) -> list[Block]:
    """Return a heading with what is below it, or nothing."""
    return [head(words), *found] if found else []


def _verdict(sheet: BatchRecordSheet, pictures: Pictures) -> Block:
    """Return the verdict: what became of the lot, and the lot test behind it."""
    lot, done = sheet.lot, sheet.released
    word = sheet.facts.container.word
    below: list[str] = []
    strong: list[str] = []
    if done is None:
        mark, words = "held", "Not released yet"
    elif done.outcome == "released":
        mark, words = "on", f"Released: {counted(done.containers, word)}"
        below.append(done.reason)
    else:
        mark, words = "stop", "Not released"
        below.append(done.reason)
    if lot is None:
        below.append("The lot test has not been judged.")
    else:
        lot_mark, lot_words = lot_headline(lot)
        mark = "stop" if lot_mark == "stop" and done is None else mark
        below += [f"{lot_words}. {lot.because}", lot_size_words(lot, word)]
        below.append(_rule(lot.rules, lot.edition, lot.plan))
        below.append(f"Tables used: {basis_words(lot)}." if lot.basis else "")
        strong.append("Table not checked against the source." if is_unchecked(lot) else "")
    if sheet.other_lot is not None:
        other = sheet.other_lot
        below.append(f"The other market: {lot_headline(other)[1]}. {other.because}")
        below.append(_rule(other.rules, other.edition, other.plan))
        strong.append("Table not checked against the source." if is_unchecked(other) else "")
    missing = sheet.signatures_wanted - len(sheet.signatures)
    strong.append(f"{counted(missing, 'signature')} missing." if missing > 0 else "")
    return verdict(pictures.mark(mark), words, below, strong=strong)


def _rule(rules: str, edition: str, plan: str) -> str:
    """Return rule set, edition and plan in words."""
    return f"Rule set {rules}, {edition}" + (f"; plan: {plan}." if plan else ".")


def _lot(sheet: BatchRecordSheet, pictures: Pictures, word: str) -> list[Block]:
    """Return the rules and the picture of the lot test."""
    if sheet.lot is None:
        return []
    caption = f"The {plural(word)} of the sample against the limits."
    found: list[Block] = [rule_rows(sheet.lot, word=word)]
    if sheet.other_lot is not None:
        found = [
            *para(f"Under {sheet.lot.rules}:", stays=True),
            *found,
            *para(f"Under {sheet.other_lot.rules}:", stays=True),
            rule_rows(sheet.other_lot, word=word),
        ]
    return [*found, *pictures.chart(sheet.lot_chart, caption)]


def _signatures(sheet: BatchRecordSheet) -> list[Block]:
    """Return who put their name to the lot, and room for those who have not."""
    cells = [
        (
            line.fact.role.capitalize(),
            line.fact.signed_by.name,
            line.fact.signed_by.initials,
            moment(line.at, sheet.zone),
        )
        for line in sheet.signatures
    ]
    if not cells:
        return [head("Signatures"), *para("None yet.")]
    return [
        head("Signatures"),
        rows(("", "Name", "Initials", "Signed"), cells, widths=(2, 5, 2, 4)),
    ]


def _job(sheet: BatchRecordSheet) -> Block:
    """Return the facts of the job."""
    job = sheet.facts
    product = job.product
    air = ", weighed in air" if product.is_apparent else ""
    return facts(
        [
            ("Planned", counted(job.lot_size, job.container.word)),
            ("Tray", counted(job.tray_size, job.container.word) if job.tray_size else ""),
            ("Weighed in the run", f"one of {job.weigh_every}"),
            (
                "Density",
                f"{exact(product.density_g_per_ml)} g/mL at {exact(product.density_c)} °C{air}",
            ),
            ("Filled at", f"{exact(product.product_c)} °C"),
            ("Cylinder", f"{exact(job.cylinder.capacity_ml)} mL"),
            ("Nozzle", f"{exact(job.nozzle.outside_mm)} mm, {job.nozzle.kind}"),
            (
                "Weighing scale",
                f"{job.scale.name}, steps of {exact(job.scale.readability_g)} g",
            ),
            ("Tare", _tare(sheet)),
            ("Product notes", product.notes),
        ]
    )


def _tare(sheet: BatchRecordSheet) -> str:
    """Return how the empties were taken off."""
    if sheet.tare is None:
        return "each empty zeroed" if sheet.facts.tare_way == "zeroed" else "not fixed"
    tare = sheet.tare
    sd = ""
    if tare.sd_g is not None:
        sd = f", s {seen_sd(tare.sd_g, sheet.facts.scale.readability_g)}"
    return f"average of {counted(tare.empties, 'empty')}: {exact(tare.tare_g)} g{sd}"


def _limits(sheet: BatchRecordSheet) -> list[Block]:
    """Return the limits as weights."""
    job = sheet.facts
    cells = [(line.name, f"{exact(line.limit_g)} g", line.note) for line in sheet.limits]
    band = f"{exact(job.band_pct.normalize())} %"
    cells.append(("Aim", f"{exact(job.aim_g)} g", f"band \u00b1{band}"))
    return [rows(("", "Net", ""), cells, widths=(3.3, 2.4, 4.3), right=(1,))]


def _by_hand(sheet: BatchRecordSheet) -> list[Block]:
    """Return the calculation of the lot test and its sources."""
    if sheet.lot is None:
        return []
    found = by_hand(sheet.lot, content_formula=sheet.content_formula)
    if sheet.other_lot is not None:
        found += para(f"Under {sheet.other_lot.rules}:", stays=True)
        found += by_hand(sheet.other_lot, content_formula="")
        found += told(sheet.other_lot)
    return [head("To check by hand"), *found, *told(sheet.lot)]


def _dose_chart(sheet: BatchRecordSheet, pictures: Pictures, word: str) -> list[Block]:
    """Return the picture of the run."""
    caption = (
        f"Ticks are {plural(word)} in their trays; the weighed ones stand up to their weight."
    )
    found = [*pictures.chart(sheet.dose_chart, caption), *notes(sheet.course)]
    return _section("The run", found)


def _turns(sheet: BatchRecordSheet) -> list[Block]:
    """Return every turn of the wheel, and every pause of the run."""
    cells = [_turn_row(line, sheet.zone) for line in sheet.turns]
    turns: list[Block] = [head("Turns of the wheel"), *para("None.")]
    if cells:
        table = rows(
            ("When", "Who", "Volume scale", "Where and why"), cells, widths=(3.2, 1.2, 3, 6)
        )
        turns = [head("Turns of the wheel"), table]
    pauses = notes(_pause(line, sheet.facts.container.word) for line in sheet.pauses)
    return [*turns, *_section("Pauses and refills", pauses)]


def _turn_row(line: TurnLine, zone: str) -> tuple[str, str, str, str]:
    """Return a turn of the wheel."""
    fact = line.fact
    start = "?" if fact.from_marks is None else exact(fact.from_marks)
    lock = "locked" if fact.is_locked else "not locked"
    if isinstance(fact, AdjustmentMade):
        why = (
            f"in the run, after {fact.after_container}; average was"
            f" {figure(fact.mean_deviation_g, places=2)} g off,"
            f" advised {exact(fact.advised_marks)}"
        )
    else:
        why = {"setup": "setting up", "trim": "trim"}[fact.stage]
        if fact.via_marks is not None:
            why += f", first to {exact(fact.via_marks)}"
        if fact.is_from_above:
            why += ", from above to learn the play"
    moved = f"{start} to {exact(fact.to_marks)}, {lock}"
    return moment(line.at, zone), line.person, moved, why


def _pause(fact: RunPaused, word: str) -> str:
    """Return a pause in words."""
    note = f": {fact.note}" if fact.note else ""
    return f"{fact.reason.capitalize()} after {word} {fact.after_container}{note}."


def _checks(sheet: BatchRecordSheet) -> list[Block]:
    """Return the checks of the weighing scale."""
    if not sheet.checks:
        return [head("Weighing scale"), *para("It was not checked in this job.")]
    cells = [
        (
            moment(line.at, sheet.zone),
            line.person,
            f"{exact(line.fact.weight_g)} g",
            f"{exact(line.fact.reading_g)} g",
            f"\u00b1{exact(line.fact.allowed_g)} g",
            "passed" if line.fact.passed else "failed",
        )
        for line in sheet.checks
    ]
    heads = ("Checked", "Who", "Known weight", "It showed", "Allowed", "")
    return [
        head("Weighing scale"),
        rows(heads, cells, widths=(3.4, 1.4, 2.6, 2.4, 2.2, 2), right=(2, 3, 4)),
    ]


def _strikes(sheet: BatchRecordSheet) -> list[Block]:
    """Return every strike-out with its reason."""
    if not sheet.strikes:
        return [head("Struck out"), *para("Nothing was struck out.")]
    cells = [
        (moment(line.at, sheet.zone), line.person, line.what, line.reason)
        for line in sheet.strikes
    ]
    return [
        head("Struck out"),
        rows(("When", "Who", "What", "Why"), cells, widths=(3.2, 1.2, 4, 5)),
    ]


def _sample(sheet: BatchRecordSheet, word: str) -> list[Block]:
    """Return how the sample was drawn and what it weighed."""
    found: list[Block] = []
    for draw in sheet.samples:
        numbers = ", ".join(str(number) for number in draw.containers)
        found += para(
            f"{plural(word).capitalize()} drawn by chance with seed {draw.seed}, in drawing order"
            f" from place {draw.first_sample + 1}: {numbers}."
        )
    unit = sheet.facts.unit
    found += sample_list(sheet.sample_lines, unit=unit, columns=2 if unit == "mL" else 3)
    return _section("Sample of the lot test", found)


def _end(sheet: BatchRecordSheet) -> list[Block]:
    """Return what ties the paper to the journal."""
    return [
        head("This record"),
        facts(
            [
                ("Printed by", sheet.program),
                ("State of the job at", stamped(sheet.made_at, sheet.zone)),
                ("Entries in the journal", str(sheet.entries)),
                ("Lot test judged by", sheet.lot.program if sheet.lot is not None else ""),
            ]
        ),
        {"kind": "hash", "name": "Hash of the last entry (SHA-256)", "digest": sheet.last_hash},
    ]
