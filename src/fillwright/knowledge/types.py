"""Records of the rule sets for net contents, as the data files hold them.

A row says how it is held (`Basis`), so that a verdict can say whether the table behind it was
checked against its source.  Amounts are exact decimals in grams or millilitres.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

__all__ = [
    "Basis",
    "LotGap",
    "PlanKind",
    "PlanRow",
    "RoundingRow",
    "RuleSet",
    "ScaleRule",
    "Scope",
    "SecondLimit",
    "ShortageRow",
    "Source",
]


class Basis(StrEnum):
    """How a row is held."""

    READ = "R"
    COMPUTED = "C"
    MEMORY = "M"
    DESIGN = "D"
    SUPPLIED = "S"


class PlanKind(StrEnum):
    """Ways of drawing the sample."""

    SINGLE = "single"
    DOUBLE = "double"
    DESTRUCTIVE = "destructive"
    CENSUS = "census"
    OWN = "own"


class SecondLimit(StrEnum):
    """What a package short by more than twice the tolerable shortage means to a rule set."""

    TEST = "test"
    COMPLIANCE = "compliance"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A document behind a row.

    Attributes
    ----------
    key : str
        Short name by which rows refer to it.
    text : str
        Title, edition, clause, and how it is held.
    """

    key: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """Label quantities that a rule set covers.

    Attributes
    ----------
    low : Decimal
        Smallest quantity covered. [g or mL]
    low_included : bool
        True where `low` itself is covered.
    high : Decimal
        Largest quantity covered, itself included. [g or mL]
    basis : Basis
        How the range is held.
    source : str
        Key of the source.
    """

    low: Decimal
    low_included: bool
    high: Decimal
    basis: Basis
    source: str

    def covers(self, nominal: Decimal) -> bool:
        """Say whether a label quantity is in the range.

        Parameters
        ----------
        nominal : Decimal
            Label quantity. [g or mL]

        Returns
        -------
        bool
            True where it is.
        """
        above = nominal >= self.low if self.low_included else nominal > self.low
        return above and nominal <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortageRow:
    """One row of a table of tolerable shortages: a share of the label quantity or an amount.

    Attributes
    ----------
    above : Decimal
        The row covers quantities above this one. [g or mL]
    up_to : Decimal or None
        And up to and including this one; None has no end. [g or mL]
    percent : Decimal or None
        Shortage as a percentage of the label quantity. [%]
    amount : Decimal or None
        Shortage as an amount. [g or mL]
    basis : Basis
        How the row is held.
    source : str
        Key of the source.
    """

    above: Decimal
    up_to: Decimal | None
    percent: Decimal | None
    amount: Decimal | None
    basis: Basis
    source: str

    @property
    def name(self) -> str:
        """The row as people say it, such as ``above 200 up to 300``."""
        if self.up_to is None:
            return f"above {self.above}"
        return f"above {self.above} up to {self.up_to}" if self.above else f"up to {self.up_to}"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundingRow:
    """How a tolerable shortage is rounded up for a range of label quantities.

    Attributes
    ----------
    above : Decimal
        The row covers quantities above this one. [g or mL]
    up_to : Decimal or None
        And up to and including this one; None has no end. [g or mL]
    step : Decimal
        The shortage goes up to the next whole number of these. [g or mL]
    basis : Basis
        How the row is held.
    source : str
        Key of the source.
    """

    above: Decimal
    up_to: Decimal | None
    step: Decimal
    basis: Basis
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRow:
    """One row of a table of sampling plans.

    Attributes
    ----------
    kind : PlanKind
        Way of drawing the sample.
    lot_from, lot_to : int or None
        Smallest and largest lot; `lot_to` None has no end.
    n : int or None
        Packages drawn; None means the whole lot.
    n_mean : int or None
        Packages in the test of the mean; None means all that were drawn.
    k : Decimal or None
        Printed sample correction factor; None where the mean must simply reach the label. [1]
    accept : int or None
        Most short packages that still accept; None where there is no such test.
    accept_percent : Decimal or None
        The same as a percentage of the lot, rounded down. [%]
    reject : int or None
        Fewest short packages that reject; None means `accept` plus one.
    n_second, accept_total, reject_total : int or None
        Second sample of a double plan and the limits for both together.
    basis : Basis
        How the row is held.
    source : str
        Key of the source.
    """

    kind: PlanKind
    lot_from: int
    lot_to: int | None
    n: int | None
    n_mean: int | None
    k: Decimal | None
    accept: int | None
    accept_percent: Decimal | None
    reject: int | None
    n_second: int | None
    accept_total: int | None
    reject_total: int | None
    basis: Basis
    source: str

    def covers(self, lot_size: int) -> bool:
        """Say whether a lot size is in the row.

        Parameters
        ----------
        lot_size : int
            Packages in the lot.

        Returns
        -------
        bool
            True where it is.
        """
        return self.lot_from <= lot_size and (self.lot_to is None or lot_size <= self.lot_to)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotGap:
    """Lot sizes for which a rule set gives no plan that we hold, and why.

    Attributes
    ----------
    lot_from, lot_to : int
        Smallest and largest lot of the gap.
    because : str
        One sentence: why there is no plan and what to do.
    """

    lot_from: int
    lot_to: int
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleRule:
    """What a rule set asks of the weighing scale.

    Attributes
    ----------
    uncertainty_share : Decimal or None
        Largest expanded uncertainty of a content as a share of the tolerable shortage. [1]
    divisions_in_shortage : int or None
        Fewest scale divisions in the tolerable shortage.
    divisions_at_least : int or None
        Fewest divisions that the scale must have.
    basis : Basis
        How the rule is held.
    source : str
        Key of the source.
    """

    uncertainty_share: Decimal | None
    divisions_in_shortage: int | None
    divisions_at_least: int | None
    basis: Basis
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSet:
    """One set of rules for net contents.

    Attributes
    ----------
    name : str
        Name by which questions ask for it.
    title : str
        Title of the document.
    edition : str
        Edition, and what of it was read.
    shortage_word : str
        What the rules call the tolerable shortage of one package.
    table_units : tuple of str
        Units for which a shortage table is held.
    may_supply : bool
        True where the user may type the shortage from the document.
    second_limit : SecondLimit
        What a package short by more than twice the shortage means.
    second_allowed : int
        Packages that may be short by more than twice the shortage.
    sample_error_limit : bool
        True where the rules speak of a sample error limit and not of a lower limit.
    mean_quantile : Decimal
        Probability point of Student's t behind the printed factors. [1]
    mean_population : bool
        True where the factors carry a correction for the size of the lot.
    default_plan : PlanKind
        Plan when none is named.
    plans : tuple of PlanKind
        Plans that may be named.
    share_below_t1 : Decimal or None
        Largest true share short by more than the shortage, for the target fill. [1]
    share_below_t2 : Decimal or None
        Largest true share short by more than twice the shortage, for the target fill. [1]
    share_basis : Basis
        How the two shares are held.
    scope : Scope
        Label quantities covered.
    shortages : tuple of ShortageRow
        Table of tolerable shortages, without gaps, in rising order.
    roundings : tuple of RoundingRow
        How they are rounded up; empty where they are not.
    plan_rows : tuple of PlanRow
        Sampling plans.
    gaps : tuple of LotGap
        Lot sizes without a plan, and why.
    scale : ScaleRule
        What is asked of the weighing scale.
    notes : tuple of str
        Sentences that belong on every report under these rules.
    sources : tuple of Source
        Documents behind the rows.
    """

    name: str
    title: str
    edition: str
    shortage_word: str
    table_units: tuple[str, ...]
    may_supply: bool
    second_limit: SecondLimit
    second_allowed: int
    sample_error_limit: bool
    mean_quantile: Decimal
    mean_population: bool
    default_plan: PlanKind
    plans: tuple[PlanKind, ...]
    share_below_t1: Decimal | None
    share_below_t2: Decimal | None
    share_basis: Basis
    scope: Scope
    shortages: tuple[ShortageRow, ...]
    roundings: tuple[RoundingRow, ...]
    plan_rows: tuple[PlanRow, ...]
    gaps: tuple[LotGap, ...]
    scale: ScaleRule
    notes: tuple[str, ...]
    sources: tuple[Source, ...]

    def source_text(self, key: str) -> str:
        """Return the text of a source by its key.

        Parameters
        ----------
        key : str
            Key that a row carries.

        Returns
        -------
        str
            Title, edition, clause, and how it is held.
        """
        return {source.key: source.text for source in self.sources}[key]
