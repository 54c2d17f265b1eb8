"""Sheets to print: an invented job of an invented maker."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from fillwright.records.charts import Dose, DoseChart, LimitMark, LotChart, ProofChart, ProofShot
from fillwright.records.entities import (
    Container,
    Cylinder,
    JobFacts,
    Machine,
    Nozzle,
    Person,
    Product,
    WeighingScale,
)
from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    LotJudged,
    ProofJudged,
    ProofPlanned,
    Released,
    RunPaused,
    SampleDrawn,
    SettingMoved,
    Signed,
    TareSet,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.sheets import (
    BatchRecordSheet,
    CheckLine,
    FactLine,
    HeldLine,
    JobCardSheet,
    LotLine,
    LotSheet,
    OutcomeLine,
    ProofLine,
    ProofSheet,
    ScaleCheckLine,
    SignatureLine,
    StruckLine,
    TurnLine,
    WeighedLine,
    WeightLimit,
)

START = datetime(2025, 3, 14, 8, 30, tzinfo=UTC)
TARE = Decimal("61.9")
STRUCK = "Wrong jar on the pan, weighed again"
ASIDE = "Knocked over before it was weighed"


@pytest.fixture
def facts():
    """The facts of the job."""
    cylinder = Cylinder(capacity_ml=Decimal(550), ml_per_mark=Decimal("5.5"))
    return JobFacts(
        number="0417",
        lot_code="L-22",
        product=Product(name="Lavender hand lotion", density_g_per_ml=Decimal("0.9850")),
        container=Container(name="250 mL jar", brim_ml=Decimal(272), mouth_mm=Decimal(58)),
        machine=Machine(name="Filler 2", cylinders=(cylinder,), nozzles=()),
        scale=WeighingScale(
            name="Bench scale",
            capacity_g=Decimal(2000),
            readability_g=Decimal("0.1"),
            repeatability_sd_g=Decimal("0.05"),
        ),
        cylinder=cylinder,
        nozzle=Nozzle(outside_mm=Decimal(20), bore_mm=Decimal(14)),
        nominal=Decimal(250),
        unit="mL",
        rules="UK-2006/659",
        plan="single",
        lot_size=420,
        tray_size=12,
        weigh_every=5,
        aim_g=Decimal("247.5"),
        is_invented=True,
    )


@pytest.fixture
def lot():
    """A lot test that passed on a table from memory."""
    return LotJudged(
        verdict="accepted",
        is_compliant=True,
        rules="UK-2006/659",
        edition="SI 2006/659, Schedules 2 and 3",
        plan="single, lots of 100 to 500",
        basis=("R", "M"),
        lot_size=410,
        n=50,
        mean_n=30,
        nominal="250",
        unit="mL",
        shortage="9",
        t1_limit="241",
        t2_limit="232",
        mean=250.95333333333335,
        mean_error=0.9533333333333334,
        sd=0.500849852463434,
        k="0.503",
        limit=249.7480725242109,
        margin=1.2052608091224406,
        count_below_t1=0,
        count_below_t2=0,
        acceptance_number=3,
        rejection_number=4,
        individual_test="accepted",
        is_mean_ok=True,
        because="Accepted: the mean is not below the limit; 0 of 50 short, most 3.",
        notes=("table not checked against the source: tolerable negative error",),
        sources=("SI 2006/659, Schedule 2, paragraphs 2 to 4; read",),
        program="fillwright 0.1.0",
    )


@pytest.fixture
def lot_chart():
    """The picture of the sample."""
    return LotChart(
        values_label_unit=tuple(Decimal(2500 + i % 19) / 10 for i in range(50)),
        nominal=Decimal(250),
        mean=250.95,
        limit=249.75,
        t1_label_unit=Decimal(241),
        t2_label_unit=Decimal(232),
        unit="mL",
    )


@pytest.fixture
def proof():
    """A proof that held, and its picture."""
    return ProofJudged(
        verdict="proved",
        shots=25,
        set_aside=1,
        mean_g=247.5123,
        sd_g=0.419,
        k=3.462,
        half_width_g=1.4506,
        half_width_pct=0.586,
        within_aim_g=2.1,
        content_provable_pct=99.9,
        because="Doses stay within \u00b10.59 % of 247.5 g.",
        equation="two-sided normal tolerance interval",
    )


@pytest.fixture
def proof_chart():
    """The picture of the proof."""
    return ProofChart(
        shots=tuple(ProofShot(net_g=Decimal(2470 + i % 10) / 10) for i in range(25)),
        planned=25,
        aim_g=Decimal("247.5"),
        claim_low_g=Decimal("245.025"),
        claim_high_g=Decimal("249.975"),
        claim_pct=Decimal(1),
        within_low_g=246.06,
        within_high_g=248.96,
    )


def weighed(number: int, purpose: str, net: str, **changes) -> WeighedLine:
    """One weighing, forty seconds after the one before."""
    struck = changes.pop("struck", "")
    given = {
        "purpose": purpose,
        "value": str(Decimal(net) + TARE),
        "unit": "g",
        "basis": "gross",
        "tare_g": TARE,
        "net_g": Decimal(net),
        "container": number,
        "state": "on",
    }
    return WeighedLine(
        at=START + timedelta(seconds=40 * number),
        person="AB",
        fact=WeighingTaken(**given | changes),
        struck=struck,
    )


@pytest.fixture
def weighings():
    """A maker of the weighings of a run: the third is struck out, the fourth set aside."""

    def make(count: int) -> tuple[WeighedLine, ...]:
        special = {3: {"struck": STRUCK}, 4: {"set_aside": ASIDE}, 5: {"state": "low"}}
        return tuple(
            weighed(i, "dose", f"{240 + i // 100}.{i % 100:02d}", **special.get(i, {}))
            for i in range(1, count + 1)
        )

    return make


@pytest.fixture
def sheet(facts, lot, lot_chart, proof, proof_chart, weighings):
    """A maker of whole batch records."""

    def make(count: int = 40, *, name: str = "Lavender hand lotion") -> BatchRecordSheet:
        later = START + timedelta(hours=4)
        doses = tuple(
            Dose(container=i, net_g=Decimal("247.5")) for i in range(1, 5 * count + 1, 5)
        )
        return BatchRecordSheet(
            facts=replace(facts, product=replace(facts.product, name=name)),
            made_at=later,
            zone="Europe/Berlin",
            lot=lot,
            released=Released(outcome="released", containers=410),
            entries=612,
            last_hash="9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
            program="fillwright 0.1.0",
            maker="Bench of our own invention",
            limits=(WeightLimit(name="Short, below T1", limit_g=Decimal("237.2")),),
            content_formula="content = net weight \u00d7 1.016314 mL/g",
            weighings=(
                weighed(1, "tare", "0.0", value="61.9", tare_g=Decimal(0), container=None),
                *weighings(count),
            ),
            turns=(
                TurnLine(
                    at=START,
                    person="AB",
                    fact=SettingMoved(
                        stage="trim", from_marks=Decimal("49.0"), to_marks=Decimal("50.4")
                    ),
                ),
                TurnLine(
                    at=later,
                    person="CD",
                    fact=AdjustmentMade(
                        after_container=71,
                        from_marks=Decimal("50.4"),
                        to_marks=Decimal("50.8"),
                        advised_marks=Decimal("50.8"),
                        mean_deviation_g=-0.62,
                        believed_share=0.8,
                    ),
                ),
            ),
            pauses=(RunPaused(reason="refill", after_container=80),),
            course=("Hopper level after jar 80: 12 cm.",),
            held=(
                HeldLine(
                    numbers="61 to 70",
                    containers=10,
                    trays="6 and 7",
                    reason="Low weight at jar 66",
                    outcomes=(
                        OutcomeLine(
                            at=later,
                            person="CD",
                            numbers="61 to 70",
                            containers=10,
                            outcome="scrapped",
                            reason="lids torn",
                        ),
                    ),
                ),
                HeldLine(
                    numbers="100",
                    containers=1,
                    trays="9",
                    reason="Jar cracked",
                    still="100",
                    still_containers=1,
                ),
            ),
            checks=(
                ScaleCheckLine(
                    at=START,
                    person="AB",
                    fact=CheckTaken(
                        weight_g=Decimal(200),
                        reading_g=Decimal("200.1"),
                        allowed_g=Decimal("0.2"),
                        passed=True,
                    ),
                ),
            ),
            tare=TareSet(tare_g=TARE, sd_g=0.21, empties=10),
            trim=TrimJudged(
                verdict="trimmed",
                setting_marks=Decimal("50.8"),
                shots=6,
                p_within=0.99,
                mean_g=247.45,
                sd_g=0.4,
                slope_g_per_mark=5.4,
                because="Near enough to the aim.",
            ),
            proof=proof,
            proof_plan=ProofPlanned(
                shots=25,
                claim_pct=Decimal(1),
                content_pct=Decimal(99),
                confidence_pct=Decimal(95),
                because="",
            ),
            samples=(SampleDrawn(seed=20250314, first_sample=0, containers=(92, 142, 118)),),
            sample_lines=(
                LotLine(row="jar 92", shown="309.6 g", net_g=Decimal("247.7"), content="251.741"),
            ),
            signatures=(
                SignatureLine(
                    at=later,
                    fact=Signed(
                        role="filled", signed_by=Person(initials="AB", name="A. Invented")
                    ),
                ),
            ),
            signatures_wanted=2,
            strikes=(StruckLine(at=later, person="CD", what="Weighing of jar 3", reason=STRUCK),),
            dose_chart=DoseChart(
                filled=5 * count,
                tray_size=12,
                doses=doses,
                aim_g=Decimal("247.5"),
                low_g=Decimal(245),
                high_g=Decimal(250),
                limits=(LimitMark(name="T1", limit_g=Decimal("237.2")),),
            ),
            proof_chart=proof_chart,
            lot_chart=lot_chart,
        )

    return make


@pytest.fixture
def lot_sheet(lot, lot_chart):
    """The paper of a lot from a file; one row was left out."""
    lines = [
        LotLine(row=f"row {i}", shown=f"{300 + i}.5 g", net_g=Decimal(f"{240 + i}.5"))
        for i in range(2, 9)
    ]
    lines[2] = replace(lines[2], left_out="weighed twice")
    return LotSheet(
        title="Lotion of March",
        source="weights.csv",
        made_at=START,
        zone="UTC",
        lot=lot,
        lines=tuple(lines),
        facts=(FactLine(name="Density", words="0.985 g/mL at 20 \u00b0C"),),
        content_formula="content = net weight \u00d7 1.016314 mL/g",
        chart=lot_chart,
        program="fillwright 0.1.0",
    )


@pytest.fixture
def proof_sheet(proof, proof_chart):
    """The paper of a proof; one reading is set aside."""
    return ProofSheet(
        title="Filler 2 with lotion",
        source="readings.csv",
        made_at=START,
        zone="UTC",
        proof=proof,
        aim_g=Decimal("247.5"),
        claim_pct=Decimal("1.0"),
        content_pct=Decimal(99),
        confidence_pct=Decimal(95),
        lines=(
            ProofLine(row="1", shown="247.3 g", net_g=Decimal("247.3")),
            ProofLine(row="2", shown="12.0 g", net_g=Decimal("12.0"), set_aside="spilt"),
        ),
        chart=proof_chart,
        program="fillwright 0.1.0",
    )


@pytest.fixture
def card(facts):
    """A maker of job cards."""

    def make(*, name: str = "Lavender hand lotion", parts: int = 4, **changes) -> JobCardSheet:
        given = {
            "facts": replace(facts, product=replace(facts.product, name=name)),
            "made_at": START,
            "zone": "Europe/Berlin",
            "next_order": "Carry on with Prove, 14 of 25.",
            "setting_marks": Decimal("50.8"),
            "low_g": Decimal("245.1"),
            "high_g": Decimal("249.9"),
            "revision": 37,
            "program": "fillwright 0.1.0",
            "limits": (WeightLimit(name="Short, below T1", limit_g=Decimal("237.2")),),
            "settings": (FactLine(name="Air", words="5.6 bar"),),
            "parts": tuple(
                FactLine(name=f"Seal {i} of the wet end", words="PTFE") for i in range(parts)
            ),
            "nozzle_gap_mm": Decimal(5),
            "weigh_words": "First five jars, then the last of each tray.",
            "cautions": ("Hot product, 72 \u00b0C: gloves and sleeve. Lid on.",),
            "checks": (
                CheckLine(numbers=(14,), words="Dose creeps: what does the pointer read?"),
            ),
        }
        return JobCardSheet(**given | changes)

    return make
