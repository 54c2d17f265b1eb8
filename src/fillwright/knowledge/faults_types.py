"""Records of the fault data: causes, findings, checks, repairs, and what each costs.

Weights, strengths, leaks, minutes and losses are judgement, to be replaced by closed cases.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "CALL",
    "OTHER",
    "Cause",
    "Check",
    "Costs",
    "FaultBook",
    "FaultsUsed",
    "Finding",
    "Repair",
    "Sign",
]

OTHER = "other"
"""The cause that stands for everything that is not on the list."""

CALL = frozenset({"qualified", "qualified_if_box_open"})
"""Preconditions that only a qualified technician meets."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something that is there or not.

    Attributes
    ----------
    key : str
        Identifier.
    text : str
        In the words of the bench.
    leak : float
        Chance that it shows although no listed cause makes it show. [1]
    check : str
        Check that looks for it; empty for what people see by themselves.
    implies_absent : tuple of str
        Findings that cannot be there with this one, unless they were stated.
    """

    key: str
    text: str
    leak: float
    check: str = ""
    implies_absent: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """Something that can be wrong.

    Attributes
    ----------
    key, name, explain : str
        Identifier, name, and one sentence on how it makes itself felt.
    weight : float
        Relative share of faults, on any positive scale. [1]
    is_qualified : bool
        True where only a qualified technician may mend it.
    after : str
        ``rebuild`` or ``changeover`` where it comes in with that; else empty.
    links : mapping of str to float
        Chance that this cause alone makes a finding show. [1]
    signature : mapping of str to float
        Points for each class of dose signature; empty where it is the same as in control.
    """

    key: str
    name: str
    explain: str
    weight: float
    is_qualified: bool
    after: str
    links: Mapping[str, float]
    signature: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Something to look at, with the number that is said over the phone.

    Attributes
    ----------
    key, name, ask, caution, tools : str
        Identifier, name, the check as a question, caution, and tools.
    number : int
        Never used again for another check.
    minutes : float
        Hands-on time. [min]
    product_ml : float
        Product lost. [mL]
    needs : tuple of str
        Preconditions.
    steps : tuple of str
        How it is done, at most three steps.
    findings : tuple of str
        What it tells.
    """

    key: str
    name: str
    ask: str
    number: int
    minutes: float
    product_ml: float
    needs: tuple[str, ...]
    caution: str
    tools: str
    steps: tuple[str, ...]
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """Something that ends a fault.

    Attributes
    ----------
    key, name, explain, caution, parts, tools, after : str
        Identifier, name, how, caution, parts and tools, and the test after it.
    fixes : mapping of str to float
        Chance that it ends a cause. [1]
    minutes : float
        Hands-on time. [min]
    product_ml : float
        Product lost. [mL]
    needs : tuple of str
        Preconditions.
    confirm : str
        Check that shows the cause before this is begun.
    """

    key: str
    name: str
    explain: str
    fixes: Mapping[str, float]
    minutes: float
    product_ml: float
    needs: tuple[str, ...]
    confirm: str
    caution: str
    parts: str
    tools: str
    after: str

    @property
    def is_offered(self) -> bool:
        """True where it is not kept for a qualified technician."""
        return not CALL & set(self.needs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What steps cost, in the minutes of the site.

    Attributes
    ----------
    minute, product_ml, technician_call : float
        Cost of a minute, of a millilitre lost, and of handing over. [min]
    """

    minute: float
    product_ml: float
    technician_call: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One of the big buttons of the opening page.

    Attributes
    ----------
    key, words, group : str
        Identifier, words, and the group it stands in.
    findings : tuple of str
        At least one of these is there.
    direction : str
        ``up`` or ``down`` where the dose creeps that way; else empty.
    """

    key: str
    words: str
    group: str
    findings: tuple[str, ...]
    direction: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultBook:
    """All that is known of faults, checked.

    Attributes
    ----------
    findings, causes, checks, repairs, signs, needs : mapping
        By identifier, in the order of the file.
    costs : Costs
        What steps cost.
    walk_checks : tuple of str
        Quick looks that are bundled, in the order in which one walks.
    walk_minutes : float
        Time of all of them. [min]
    classes : tuple of str
        Classes of dose signature.
    smoothing : float
        Points that every class gets for every cause. [1]
    prior_strength, link_strength : float
        Cases that the shipped weights, and each shipped link, are worth. [1]
    expected_extra : float
        Expected faults besides the one, of the model with pairs. [1]
    after_cycles : int
        Cycles after a rebuild or a changeover in which its faults come in.
    after_inside, after_outside : float
        Factors of their weights inside and outside that window. [1]
    """

    findings: Mapping[str, Finding]
    causes: Mapping[str, Cause]
    checks: Mapping[str, Check]
    repairs: Mapping[str, Repair]
    signs: Mapping[str, Sign]
    needs: Mapping[str, str]
    costs: Costs
    walk_checks: tuple[str, ...]
    walk_minutes: float
    classes: tuple[str, ...]
    smoothing: float
    prior_strength: float
    link_strength: float
    expected_extra: float
    after_cycles: int
    after_inside: float
    after_outside: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultsUsed:
    """The fault data that a site works with.

    Attributes
    ----------
    book : FaultBook
        The data.
    file : str
        Name of the site's own file where it is used; empty for the data of the program.
    problem : str
        Why a file of the site is not used, with line and mend; empty when nothing is wrong.
    """

    book: FaultBook
    file: str = ""
    problem: str = ""
