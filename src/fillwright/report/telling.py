"""What a chart shows, told in one sentence or two and laid out as rows.

The sentence is the chart's accessible name; the rows stand behind "Show as table".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fillwright.records.charts import (
    Chart,
    CylinderLanes,
    DoseChart,
    LotChart,
    ProbabilityPlot,
    ProofChart,
    RankedBars,
    VolumeScale,
    Wheel,
)
from fillwright.records.flowplot import FlowPlot
from fillwright.records.mapplot import NozzleMap, RechargeMap
from fillwright.records.turns import turn_words
from fillwright.records.wetsketch import WetSketch
from fillwright.report.flowplot import HEADS, flow_rows, flow_words
from fillwright.report.mapplot import (
    nozzle_rows,
    nozzle_words,
    recharge_rows,
    recharge_words,
)
from fillwright.report.svg import plain
from fillwright.report.wetsketch import sketch_rows, sketch_words

__all__ = ["Table", "describe", "table"]

_MOST_NAMED: Final = 5
_STATE_WORDS: Final = {
    "on": "on target",
    "low": "low",
    "high": "high",
    "short": "short",
    "far-short": "far short",
    "overfull": "overfull",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A chart as rows of words; the first cell of a row names it."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def describe(spec: Chart) -> str:
    """Return what a chart shows now, as its accessible name."""
    match spec:
        case DoseChart():
            return _doses(spec)
        case ProofChart():
            return _proof(spec)
        case ProbabilityPlot():
            return _probability(spec)
        case RankedBars():
            return _bars(spec)
        case LotChart():
            return _lot(spec)
        case VolumeScale():
            return _scale(spec)
        case CylinderLanes():
            lanes = ". ".join(
                f"{_short(lane.capacity_ml)} mL cylinder: {lane.words}" for lane in spec.lanes
            )
            return f"Dose {_short(spec.dose_ml)} mL. {lanes}."
        case Wheel():
            way = "clockwise" if spec.is_clockwise else "anticlockwise"
            return f"Turn the wheel {turn_words(spec.size_turns)}, {way}."
        case WetSketch() | RechargeMap() | NozzleMap() | FlowPlot():
            return _machine_words(spec)


def table(spec: Chart) -> Table:
    """Return a chart as a table."""
    match spec:
        case DoseChart():
            return _dose_rows(spec)
        case ProofChart():
            return Table(
                head=("Shot", "Weight, g", ""),
                rows=tuple(
                    (str(i), str(shot.net_g), "set aside" if shot.is_set_aside else "")
                    for i, shot in enumerate(spec.shots, 1)
                ),
            )
        case ProbabilityPlot():
            digits = spec.decimals + 1
            return Table(
                head=("Place", "Weight, g", "By chance from, g", "to, g", ""),
                rows=tuple(
                    (
                        str(i + 1),
                        plain(value, spec.decimals),
                        plain(spec.low_g[i], digits),
                        plain(spec.high_g[i], digits),
                        "outside" if i in spec.outside else "",
                    )
                    for i, value in enumerate(spec.values_g)
                ),
            )
        case RankedBars():
            rows = tuple((bar.name, bar.words) for bar in spec.bars)
            return Table(head=(spec.title, "Share"), rows=rows)
        case LotChart():
            return Table(
                head=("Sample", f"Content, {spec.unit}"),
                rows=tuple(
                    (str(i), plain(value, spec.decimals))
                    for i, value in enumerate(spec.values_label_unit, 1)
                ),
            )
        case VolumeScale():
            places = (
                ("pointer now", spec.now_marks),
                ("set to", spec.set_marks),
                ("first go to", spec.via_marks),
                ("right setting likely from", spec.likely_low_marks),
                ("right setting likely to", spec.likely_high_marks),
            )
            digits = _step_digits(spec)
            return Table(
                head=("Volume scale", "Mark"),
                rows=tuple((n, plain(v, digits)) for n, v in places if v is not None),
            )
        case CylinderLanes():
            return Table(
                head=("Cylinder, mL", "A tenth, mL", "For this dose"),
                rows=tuple(
                    (_short(lane.capacity_ml), _short(lane.capacity_ml / 10), lane.words)
                    for lane in spec.lanes
                ),
            )
        case Wheel():
            return Table(head=("Wheel",), rows=((describe(spec),),))
        case WetSketch() | RechargeMap() | NozzleMap() | FlowPlot():
            return _machine_rows(spec)


def _doses(spec: DoseChart) -> str:
    """Return the sentences of a dose chart."""
    word, words = spec.word, spec.words
    if not spec.filled:
        return f"No {word} filled yet."
    filled = _counted(spec.filled, word, words)
    if not spec.doses:
        return f"{filled} filled, none weighed yet."
    band = f"{plain(spec.low_g, spec.decimals)} to {plain(spec.high_g, spec.decimals)} g"
    odd = [dose for dose in spec.doses if dose.state != "on"]
    named = [
        f"{word} {d.container} {_STATE_WORDS[d.state]} at {plain(d.net_g, spec.decimals)} g"
        for d in odd[-_MOST_NAMED:]
    ]
    if len(odd) > _MOST_NAMED:
        named.insert(0, f"{len(odd) - _MOST_NAMED} earlier ones")
    inside = f"All inside {band}" + (f" but {_listed(named)}" if named else "")
    weighed = len(spec.doses) if spec.weighed is None else spec.weighed
    parts = [f"{filled} filled, {weighed} weighed", inside]
    t1 = next((limit for limit in spec.limits if limit.name == "T1"), None)
    if t1 is not None:
        below = sum(dose.state in ("short", "far-short") for dose in spec.doses)
        value = plain(t1.limit_g, spec.decimals)
        parts.append(f"{below or 'None'} below the legal limit T1, {value} g")
    held = [_numbers(s.first, s.last) for s in spec.held if not s.is_settled]
    if held:
        parts.append(f"Held: {words} {_listed(held)}")
    return ". ".join(parts) + "."


def _dose_rows(spec: DoseChart) -> Table:
    """Return a row for each weighed container and for each post, in order."""
    posts = sorted(spec.posts, key=lambda post: post.after_container)
    rows: list[tuple[str, ...]] = []
    for dose in spec.doses:
        while posts and posts[0].after_container < dose.container:
            post = posts.pop(0)
            rows.append(
                (
                    f"after {post.after_container}",
                    _tray(spec, post.after_container),
                    "",
                    post.words,
                )
            )
        rows.append(
            (
                str(dose.container),
                _tray(spec, dose.container),
                str(dose.net_g),
                _STATE_WORDS[dose.state] + _held_word(spec, dose.container),
            )
        )
    rows += [
        (f"after {post.after_container}", _tray(spec, post.after_container), "", post.words)
        for post in posts
    ]
    return Table(head=(spec.word.capitalize(), "Tray", "Weight, g", ""), rows=tuple(rows))


def _proof(spec: ProofChart) -> str:
    """Return the sentences of a proof chart."""
    used = [shot for shot in spec.shots if not shot.is_set_aside]
    if not used:
        return f"No shot weighed yet, {spec.planned} planned."
    weights = [float(shot.net_g) for shot in used]
    least, most = plain(min(weights), spec.decimals), plain(max(weights), spec.decimals)
    low, high = plain(spec.claim_low_g, spec.decimals), plain(spec.claim_high_g, spec.decimals)
    parts = [
        f"{len(used)} of {spec.planned} shots weighed, from {least} to {most} g",
        f"Claim of plus or minus {_short(spec.claim_pct)} percent: {low} to {high} g",
    ]
    if spec.within_low_g is not None and spec.within_high_g is not None:
        ends = (plain(v, spec.decimals) for v in (spec.within_low_g, spec.within_high_g))
        parts.append("Doses stay from " + " to ".join(ends) + " g")
    aside = len(spec.shots) - len(used)
    if aside:
        parts.append(f"{aside} set aside")
    return ". ".join(parts) + "."


def _probability(spec: ProbabilityPlot) -> str:
    """Return the sentences of a probability plot."""
    least, most = (plain(v, spec.decimals) for v in (spec.values_g[0], spec.values_g[-1]))
    many = len(spec.outside)
    out = f"{many or 'None'} outside the envelope that {spec.runs} drawn runs give"
    return (
        f"{len(spec.values_g)} shots from {least} to {most} g against the normal line. {out}. "
        f"{spec.words}"
    )


def _bars(spec: RankedBars) -> str:
    """Return the parts, the biggest first."""
    return f"{spec.title}: " + "; ".join(f"{bar.name}, {bar.words}" for bar in spec.bars) + "."


def _lot(spec: LotChart) -> str:
    """Return the sentences of a lot chart."""
    values = spec.values_label_unit
    unit = spec.unit
    if not values:
        return "No sample weighed yet."
    ends = sorted(values)
    least, most = plain(ends[0], spec.decimals), plain(ends[-1], spec.decimals)
    parts = [
        f"{len(values)} {spec.words} from {least} to {most} {unit}",
        f"Label {plain(spec.nominal, spec.decimals)} {unit}",
    ]
    if spec.mean is not None:
        parts.append(f"Average {plain(spec.mean, spec.decimals)} {unit}")
    for name, value in (("T1", spec.t1_label_unit), ("T2", spec.t2_label_unit)):
        if value is not None:
            below = sum(v < value for v in values)
            parts.append(f"{below or 'None'} below {name}, {plain(value, spec.decimals)} {unit}")
    return ". ".join(parts) + "."


def _scale(spec: VolumeScale) -> str:
    """Return the sentences of a volume scale."""
    digits = _step_digits(spec)
    parts = ["Volume scale of the machine"]
    if spec.now_marks is not None:
        parts.append(f"Pointer now at {plain(spec.now_marks, digits)}")
    if spec.via_marks is not None:
        parts.append(f"First go to {plain(spec.via_marks, digits)}")
    if spec.set_marks is not None:
        parts.append(f"Set it to {plain(spec.set_marks, digits)}")
    if spec.likely_low_marks is not None and spec.likely_high_marks is not None:
        low, high = plain(spec.likely_low_marks, digits), plain(spec.likely_high_marks, digits)
        parts.append(f"Likely right setting {low} to {high}")
    return ". ".join(parts) + "."


def _step_digits(spec: VolumeScale) -> int:
    """Return the digits that a setting is read to: a tenth of a tick needs one more."""
    return max(0, -int(spec.step_marks.normalize().as_tuple().exponent))


def _tray(spec: DoseChart, container: int) -> str:
    """Return the tray of a container."""
    return str((container - 1) // spec.tray_size + 1) if spec.tray_size else ""


def _held_word(spec: DoseChart, container: int) -> str:
    """Return that a container is held, where it is."""
    is_held = any(s.first <= container <= s.last and not s.is_settled for s in spec.held)
    return ", held" if is_held else ""


def _numbers(first: int, last: int) -> str:
    """Return a span of containers."""
    return str(first) if first == last else f"{first} to {last}"


def _listed(items: Sequence[str]) -> str:
    """Return items as people list them."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1]


def _counted(count: int, word: str, words: str) -> str:
    """Return a number of containers."""
    return f"{count} {word if count == 1 else words}"


def _short(value: object) -> str:
    """Return a figure without needless zeros."""
    text = f"{float(str(value)):.3f}".rstrip("0").rstrip(".")
    return text.replace("-", "\u2212")


def _machine_words(spec: WetSketch | RechargeMap | NozzleMap | FlowPlot) -> str:
    """Return the sentence of a picture of the machine, or of what it does with a product."""
    match spec:
        case WetSketch():
            return sketch_words(spec)
        case RechargeMap():
            return recharge_words(spec)
        case NozzleMap():
            return nozzle_words(spec)
        case FlowPlot():
            return flow_words(spec)


def _machine_rows(spec: WetSketch | RechargeMap | NozzleMap | FlowPlot) -> Table:
    """Return the table of a picture of the machine, or of what it does with a product."""
    match spec:
        case WetSketch():
            return Table(head=("Piece", "What it is", "Bore", "Length"), rows=sketch_rows(spec))
        case RechargeMap():
            head = ("Temperature", "Times as thick", "Fills from", "Quickest drive")
            return Table(head=head, rows=recharge_rows(spec))
        case NozzleMap():
            bores = (f"{bore:.2g} mm" for bore in spec.bores_mm)
            return Table(head=("Temperature", *bores), rows=nozzle_rows(spec))
        case FlowPlot():
            return Table(head=HEADS[0 if spec.is_over_rate else 1], rows=flow_rows(spec))
