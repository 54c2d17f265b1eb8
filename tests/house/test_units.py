"""A number says its unit: in the docstring within science, in its name everywhere else."""

from __future__ import annotations

import ast
import re

import pytest

# What a name may end in outside science, and the one unit that each ending stands for.
SUFFIXES = {
    "kg": "kilogram",
    "g": "gram",
    "mg": "milligram",
    "l": "litre",
    "ml": "millilitre",
    "m": "metre",
    "mm": "millimetre",
    "mm2": "square millimetre",
    "um": "micrometre",
    "h": "hour",
    "min": "minute",
    "s": "second",
    "ms": "millisecond",
    "c": "degree Celsius",
    "k": "kelvin, of a difference",
    "pct": "percent",
    "pct_of_cylinder": "percent of the capacity of the product cylinder",
    "label_unit": "gram or millilitre, as the label declares",
    "bar": "bar, absolute",
    "bar_g": "bar above the air around",
    "pa": "pascal",
    "kpa": "kilopascal",
    "hpa": "hectopascal",
    "pa_s": "pascal second",
    "mpa_s": "millipascal second",
    "n_per_m": "newton per metre",
    "mn_per_m": "millinewton per metre",
    "g_per_ml": "gram per millilitre",
    "kg_m3": "kilogram per cubic metre",
    "kg_per_m3": "kilogram per cubic metre",
    "g_per_dose": "gram per dose",
    "ml_per_s": "millilitre per second",
    "l_per_min": "litre per minute",
    "ml_per_mark": "millilitre per mark of the volume scale",
    "ml_per_turn": "millilitre per turn of the hand wheel",
    "g_per_ml_of_scale": "gram per millilitre on the volume scale",
    "g_per_mark": "gram per mark of the volume scale",
    "mark": "a place on the volume scale, as engraved",
    "marks": "marks of the volume scale",
    "marks_per_turn": "marks of the volume scale per turn of the hand wheel",
    "turns": "turns of the hand wheel",
    "deg": "degree of angle",
    "per_k": "one over kelvin",
    "per_s": "one over second",
    "dm3_per_s_bar": "litre a second for each bar of absolute pressure, sonic conductance",
    "per_min": "one over minute",
    "per_h": "one over hour",
    "cycles": "cycles of the machine",
    "containers": "containers",
    "doses": "doses",
    "days": "days",
    "ratio": "one",
    "share": "one",
    "factor": "one",
    "factors": "one",
    "spread": "one, standard deviation of a logarithm",
    "index": "one",
    "k_factor": "one",
    "z": "one, in standard deviations",
    "cost_units": "the site's own unit of cost",
    "per_litre": "the site's own unit of cost per litre",
    "cost_per_min": "the site's own unit of cost per minute",
    "cost_per_h": "the site's own unit of cost per hour",
    "m3": "cubic metre",
    "per_kg": "the site's own unit of cost per kilogram",
    "cost_per_m3": "the site's own unit of cost per cubic metre",
    "each": "the site's own unit of cost for one",
}
# Numbers that are counted in ones by their nature.
ONES = re.compile(
    r"^(?:k|k_one_sided|z|n|p_\w+|chance|\w*confidence|content|positions?|share\w*|\w*probability"
    r"|signature|minutes)$"
)
# Figures in the unit that the `unit` beside them names: as the label declares, as a scale sent.
IN_NAMED_UNIT = {"value", "nominal", "mean", "mean_error", "sd", "limit", "margin"}
NUMERIC = {"float", "Decimal", "Fraction", "NDArray", "complex"}
UNIT_AT_END = re.compile(r"\[[^\[\]]+\]\.?$")
NOT_A_MEASURE = re.compile(r"NDArray\[(?:np\.)?(?:bool_?|u?int\w*|intp|str_|object_)\]|Callable\[")


def test_science_says_the_unit_of_every_number(package, trees):
    """In science every float, Decimal or array ends its description with its unit."""
    modules = {p: t for p, t in trees.items() if p.is_relative_to(package / "science")}
    numeric = _numeric_names(list(modules.values()))

    breaches = [
        f"{path.relative_to(package)}:{breach}"
        for path, tree in modules.items()
        for breach in _without_unit(tree, numeric, exact="quantity" in path.parts)
    ]

    assert not breaches, "\n".join(breaches)


def test_records_and_jobs_name_the_unit_of_every_field(package, trees):
    """In records and jobs every float or Decimal field ends in a suffix of the one list.

    A class that carries a `unit` may leave it off the figures that the label or a scale gave.
    """
    modules = {
        path: tree
        for path, tree in trees.items()
        if path.relative_to(package.parents[1]).parts[2:3] in {("records",), ("jobs",)}
    }
    numeric = _numeric_names(list(modules.values()))

    breaches = [
        f"{path.relative_to(package)}:{node.lineno}: {owner}.{name}"
        for path, tree in modules.items()
        for owner, name, node in _fields(tree)
        if _is_numeric(node.annotation, numeric) and not _has_suffix(name)
        if not (name in IN_NAMED_UNIT and (owner, "unit") in {f[:2] for f in _fields(tree)})
    ]

    assert not breaches, "\n".join(breaches)


PLANTED = '''
"""A module."""
Numbers = float | NDArray[np.float64]

def loss(flow: Numbers, bore: float, *, steps: int) -> Numbers:
    """Return the pressure lost.

    Parameters
    ----------
    flow : float or ndarray
        Volume flow,
        zero gives zero. {flow}
    bore : float
        Inside diameter. {bore}
    steps : int
        How many.

    Returns
    -------
    float or ndarray
        Pressure lost. {back}
    """

@dataclass(frozen=True)
class Bore:
    """A bore.

    Attributes
    ----------
    length : float
        How long. {length}
    """

    length: float
'''


@pytest.mark.parametrize("missing", ["flow", "bore", "back", "length"])
def test_a_number_without_a_unit_is_found(missing):
    """An argument, a result or a field that says no unit is found, and only that one."""
    units = dict.fromkeys(("flow", "bore", "back", "length"), "[m³]") | {missing: ""}
    tree = ast.parse(PLANTED.format(**units))

    [breach] = _without_unit(tree, _numeric_names([tree]), exact=False)

    assert {"back": "loss returns"}.get(missing, f".{missing}") in breach


@pytest.mark.parametrize("name", ["dose_ml", "air_bar_g", "p_over", "rest_ratio", "k", "gross_g"])
def test_a_listed_suffix_is_known(name):
    """A name that ends in a listed unit, or is counted in ones, passes."""
    assert _has_suffix(name)


@pytest.mark.parametrize("name", ["dose", "weight", "g", "limit", "ml"])
def test_a_name_without_suffix_is_found(name):
    """A name without a listed ending, or that is nothing but the ending, is a breach."""
    assert not _has_suffix(name)


def _has_suffix(name: str) -> bool:
    """Tell whether a name says its unit."""
    words = name.split("_")
    endings = ["_".join(words[start:]) for start in range(1, len(words))]
    # A rate says what it is by itself: ml_per_mark. A bare unit does not: ml.
    endings += [name] if "_per_" in name else []
    return bool(ONES.match(name)) or any(ending in SUFFIXES for ending in endings)


def _numeric_names(trees: list[ast.Module]) -> set[str]:
    """Names that stand for numbers: the built-in ones and the aliases that modules give them."""
    names = set(NUMERIC)
    for tree in trees:
        for node in tree.body:
            value = getattr(node, "value", None)
            if isinstance(node, ast.Assign) and isinstance(value, ast.BinOp | ast.Subscript):
                target = node.targets[0]
                if isinstance(target, ast.Name) and _is_numeric(value, names):
                    names.add(target.id)
    return names


def _is_numeric(annotation: ast.expr | None, numeric: set[str]) -> bool:
    """Tell whether an annotation holds a number that has a unit."""
    if annotation is None:
        return False
    text = ast.unparse(annotation)
    if NOT_A_MEASURE.search(text):
        return False
    return bool(set(re.findall(r"\w+", text)) & numeric)


def _fields(tree: ast.Module):
    """Every annotated field of every class, with the name of its class."""
    for owner in ast.walk(tree):
        if isinstance(owner, ast.ClassDef):
            for node in owner.body:
                if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                    yield owner.name, node.target.id, node


def _without_unit(tree: ast.Module, numeric: set[str], *, exact: bool) -> list[str]:
    """Every public number of a module that does not end its description with its unit."""
    found = []
    for owner, scope in _public(tree):
        told = _described(ast.get_docstring(scope) or "")
        for name, line, annotation in _numbers(scope):
            if not _is_numeric(annotation, numeric):
                continue
            # Exact grams and millilitres, as rules are written, may say it in the name instead.
            if exact and name and _has_suffix(name):
                continue
            where = f"{owner}.{name}" if name else f"{owner} returns"
            description = told.get(name)
            if description is None:
                found.append(f"{line}: {where} is not described")
            elif not UNIT_AT_END.search(description):
                found.append(f"{line}: {where} does not end with its unit: …{description[-40:]}")
    return found


def _public(tree: ast.Module):
    """Every public class, function and method with the name to show."""
    for node in tree.body:
        if getattr(node, "name", "_").startswith("_"):
            continue
        if isinstance(node, ast.FunctionDef):
            yield node.name, node
        if isinstance(node, ast.ClassDef):
            yield node.name, node
            for method in node.body:
                if isinstance(method, ast.FunctionDef) and not method.name.startswith("_"):
                    yield f"{node.name}.{method.name}", method


def _numbers(scope: ast.ClassDef | ast.FunctionDef):
    """The annotated names of a class or function; an empty name is what it returns."""
    if isinstance(scope, ast.ClassDef):
        for node in scope.body:
            if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                yield node.target.id, node.lineno, node.annotation
        return
    arguments = scope.args
    for argument in (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs):
        yield argument.arg, argument.lineno, argument.annotation
    yield "", scope.lineno, scope.returns


def _described(docstring: str) -> dict[str, str]:
    """Descriptions by name from a numpydoc text; an empty name is what is returned."""
    told: dict[str, str] = {}
    section = ""
    names: list[str] = []
    lines = docstring.splitlines()
    for number, line in enumerate(lines):
        below = lines[number + 1] if number + 1 < len(lines) else ""
        if line and re.fullmatch(r"-{3,}", below.strip()):
            section, names = line.strip(), []
        elif section in {"Parameters", "Attributes", "Returns", "Yields"} and line.strip():
            if not line.startswith(" ") and not re.fullmatch(r"-{3,}", line.strip()):
                gives = section in {"Returns", "Yields"}
                names = [""] if gives else re.split(r",\s*", line.partition(" : ")[0].strip())
                # A second entry under Returns would belong to a tuple, which nothing returns.
                told |= dict.fromkeys(names, "")
            elif line.startswith(" "):
                for name in names:
                    told[name] = f"{told[name]} {line.strip()}".strip()
    # A property's one line may be all there is to say about what it gives.
    told.setdefault("", lines[0] if lines else "")
    return told
