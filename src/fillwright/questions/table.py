"""The table of questions: name, one line, and the function that answers.

What a question takes and gives stands in the annotations of its function. A new question is
one row here and one function; command line, HTTP, Python and the reference follow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, get_type_hints

if TYPE_CHECKING:
    from fillwright.questions.fields import Answer, Given

__all__ = ["QUESTIONS", "Question"]

NET_CONTENTS: Final = "Net contents"
DOSING: Final = "Weighing and dosing"
STROKE: Final = "Stroke physics"
SERVICE: Final = "Service"
COSTS: Final = "Costs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question.

    Parameters
    ----------
    name : str
        Name by which it is asked.
    line : str
        What it answers, in one line.
    group : str
        Where it stands in the reference.
    home : str
        Module of this folder and function, as ``"contents:shortage"``.
    """

    name: str
    line: str
    group: str
    home: str

    @property
    def function(self) -> Callable[[Any], Answer]:
        """The function that answers; its module is imported when this is asked for."""
        module, _, function = self.home.partition(":")
        found: Callable[[Any], Answer] = getattr(
            import_module(f"fillwright.questions.{module}"), function
        )
        return found

    @property
    def takes(self) -> type[Given]:
        """The model of the input."""
        found: type[Given] = _types(self.home)["given"]
        return found

    @property
    def gives(self) -> type[Answer]:
        """The model of the answer."""
        found: type[Answer] = _types(self.home)["return"]
        return found

    @property
    def example(self) -> dict[str, Any]:
        """An input that is answered, put together from the examples of the fields."""
        return {
            field.alias or name: field.examples[0]
            for name, field in self.takes.model_fields.items()
            if field.examples
        }


@cache
def _types(home: str) -> dict[str, Any]:
    """Return the models that the function of a question is annotated with."""
    module, _, function = home.partition(":")
    return get_type_hints(getattr(import_module(f"fillwright.questions.{module}"), function))


def _table(*rows: tuple[str, str, str, str]) -> Mapping[str, Question]:
    """Return the rows by name, in their order."""
    return MappingProxyType(
        {
            name: Question(name=name, line=line, group=group, home=home)
            for name, line, group, home in rows
        }
    )


QUESTIONS: Final[Mapping[str, Question]] = _table(
    ("shortage", "What one package may be short by", NET_CONTENTS, "contents:shortage"),
    ("lot-test", "Does a lot pass the reference test", NET_CONTENTS, "contents:lot_test"),
    ("target-fill", "What to aim at with least giveaway", NET_CONTENTS, "targets:target_fill"),
    (
        "acceptance-chance",
        "With what chance will a lot be accepted",
        NET_CONTENTS,
        "targets:acceptance_chance",
    ),
    (
        "content-volume",
        "What volume at 20 °C is behind a net weight",
        NET_CONTENTS,
        "targets:content_volume",
    ),
    (
        "target-weight",
        "What the scale shows when the label volume is inside",
        NET_CONTENTS,
        "targets:target_weight",
    ),
    ("air-density", "How dense is the air at the scale", DOSING, "weighing:air_density"),
    ("z-factor", "What volume of water is behind a weight", DOSING, "fitting:z_factor"),
    ("buoyancy", "What mass and volume are behind a reading", DOSING, "weighing:buoyancy"),
    (
        "conformance",
        "How likely is a dose inside, given one reading",
        DOSING,
        "weighing:conformance",
    ),
    (
        "acceptance-limit",
        "How far off may a reading be and still be taken",
        DOSING,
        "weighing:acceptance_limit",
    ),
    ("rounded-sd", "What spread is behind rounded readings", DOSING, "weighing:rounded_sd"),
    ("scale-check", "Is the weighing scale good enough", DOSING, "weighing:scale_check"),
    (
        "repeatability-study",
        "How a spread splits into scale, doses and operators",
        DOSING,
        "studies:repeatability_study",
    ),
    (
        "tolerance-factor",
        "How many sd hold so many of the doses",
        DOSING,
        "proving:tolerance_factor",
    ),
    (
        "distribution-free-n",
        "How many readings prove by their extremes alone",
        DOSING,
        "proving:distribution_free_n",
    ),
    ("prove", "What do the readings prove about single doses", DOSING, "proving:prove"),
    ("prove-plan", "How many readings does a proof need", DOSING, "proving:prove_plan"),
    ("prove-chance", "With what chance does a proof succeed", DOSING, "proving:prove_chance"),
    ("capability", "Pp and Ppk against two limits", DOSING, "studies:capability"),
    (
        "kept-proof",
        "Does a kept proof still speak for the machine",
        DOSING,
        "keeping:kept_proof",
    ),
    ("tare", "Will one average empty do for all", DOSING, "keeping:tare"),
    ("trim-next", "Where to set the volume scale next", DOSING, "trimming:trim_next"),
    ("chart-constants", "Constants of charts for groups", DOSING, "charting:chart_constants"),
    ("chart-run", "What does a chart show over a whole run", DOSING, "holding:chart_run"),
    ("arl", "How soon does a chart alarm on average", DOSING, "charting:arl"),
    ("chart-design", "What limit gives a wanted run length", DOSING, "charting:chart_design"),
    ("check-delay", "How many containers until the alarm", DOSING, "charting:check_delay"),
    ("check-plan", "How often to weigh and how many", DOSING, "charting:check_plan"),
    ("suspect", "Which containers are suspect", DOSING, "suspects:suspect"),
    ("adjust", "Whether and how far to turn the wheel", DOSING, "holding:adjust"),
    ("signature", "What kind of wandering doses show", DOSING, "recognising:signature"),
    ("pipe-loss", "What pressure a pipe takes", STROKE, "piping:pipe_loss"),
    ("fitting-loss", "What pressure a bend or valve takes", STROKE, "piping:fitting_loss"),
    ("bore-change", "What a sudden change of bore takes", STROKE, "piping:bore_change"),
    ("nozzle", "How a product leaves a nozzle", STROKE, "piping:nozzle"),
    ("nozzle-hold", "Which nozzle bores hold a liquid", STROKE, "piping:nozzle_hold"),
    ("drop", "What the drop weighs that falls from a lip", STROKE, "piping:drop"),
    ("liquid", "How dense and thick water or glycerol is", STROKE, "piping:liquid"),
    (
        "viscosity-fit",
        "How thick a product is at a temperature",
        STROKE,
        "fitting:viscosity_fit",
    ),
    ("flow-curve-fit", "Which flow curve fits readings", STROKE, "fitting:flow_curve_fit"),
    ("air-flow", "What air passes a valve or needle", STROKE, "airing:air_flow"),
    ("free-air", "What free air an air cylinder uses", STROKE, "airing:free_air"),
    ("blow-down", "How long a chamber takes to empty", STROKE, "airing:blow_down"),
    ("annular-leak", "What leaks past a ring", STROKE, "budgeting:annular_leak"),
    ("dose-model", "What a dose weighs and what moves it", STROKE, "budgeting:dose_model"),
    ("dose-budget", "Which source spreads the doses most", STROKE, "budgeting:dose_budget"),
    ("thermal-dose", "What warmth does to a dose", STROKE, "budgeting:thermal_dose"),
    ("trapped-air", "What trapped air keeps back", STROKE, "budgeting:trapped_air"),
    ("multi-shot", "Into how many shots a dose is cut", STROKE, "pacing:multi_shot"),
    ("rate", "How many containers a minute", STROKE, "pacing:rate"),
    ("match", "What parts suit product, dose and container", STROKE, "matching:match"),
    ("recharge-limit", "How fast may the recharge be", STROKE, "stroking:recharge_limit"),
    ("discharge", "How long a fill takes and what holds it", STROKE, "stroking:discharge"),
    ("fault-next", "What to check or repair next", SERVICE, "faulting:fault_next"),
    ("repair-order", "In what order to repair", SERVICE, "faulting:repair_order"),
    ("check-value", "Does a check before the repairs pay", SERVICE, "faulting:check_value"),
    ("oring", "Which O-ring is this", SERVICE, "sealing:oring"),
    ("gland", "How does an O-ring sit in its gland", SERVICE, "sealing:gland"),
    ("material", "Does a seal material stand recipe and cleaner", SERVICE, "seal_media:material"),
    ("gasket", "Which clamp gasket fits bore and ferrule", SERVICE, "seal_media:gasket"),
    ("seal-life", "How long does a seal position live", SERVICE, "lasting:seal_life"),
    (
        "age-replacement",
        "At what age to change a seal",
        SERVICE,
        "lasting:age_replacement",
    ),
    (
        "failure-within",
        "How likely does a seal fail in the next cycles",
        SERVICE,
        "lasting:failure_within",
    ),
    ("spares", "How many spares to keep", SERVICE, "lasting:spares"),
    ("day-order", "In what order to fill the jobs of a day", SERVICE, "daying:day_order"),
    ("lot-cost", "What a lot cost, and where the money went", COSTS, "costing:lot_cost"),
    ("quote", "What another job is likely to cost", COSTS, "costing:quote"),
    ("scatter-worth", "What less scatter is worth", COSTS, "costing:scatter_worth"),
)
