"""Invented machines to trim, inside and outside the family that the trimming model knows."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from fillwright.jobs.trim.unsettled import MOST_SHOTS, SECOND_PROBABILITY
from fillwright.science.trim import Direction, PastTrim, ShotGroup, TrimStep, next_setting

MOST = MOST_SHOTS
WITHIN = 0.005
OVER = 1.01
_TOLD_PLAY = 0.01

KINDS = {
    "plain": "straight line, as the model has it",
    "curved": "slope that changes by up to 10 % along the cylinder",
    "drift": "creep of 0.02 to 0.1 % a shot, up or down",
    "wild": "one weight in ten wild: 5 to 30 sd low, or as often high",
    "dense_high": "density given 5 % too high",
    "dense_low": "density given 5 % too low",
    "coarse": "scale step of two shot sds",
    "coarser": "scale step of 0.5 % of the dose",
    "air": "air left: first shot 0.3 to 2 % short, gone in 1 to 4 doses",
    "rough": "shot sd of 1 % of the dose",
    "rougher": "shot sd of 1.5 % of the dose",
    "heavy": "scatter with heavy tails (t, 4)",
    "wheel": "hand wheel twice as coarse as told",
    "play": "lost motion of 2 % of the cylinder, told 1 %",
}
ABOVE = "wheel come to from above before the first shot, which nobody told"
"""A kind of its own, ``above``: no promise is made for it."""


@dataclass(frozen=True)
class Machine:
    """One invented machine with its product; all masses in kilograms, volumes in cubic metres."""

    target: float
    cylinder: float
    density: float
    told_density: float
    gain: float
    offset: float
    bend: float
    shot_sd: float
    step: float
    wheel: float
    play: float
    creep: float
    air: float
    fade: float
    wild: float
    heavy: bool
    is_above: bool

    def mean_at(self, place: float, shots: int) -> float:
        """Return the mean dose of a stop after so many shots, air left out."""
        bend = self.bend * (place / self.cylinder - self.target / self.density / self.cylinder)
        line = self.offset + self.density * self.gain * place * (1.0 + bend)
        return line + self.creep * shots


def machine_of(
    kind: str, rng: np.random.Generator, *, fill: tuple[float, float] = (0.12, 0.9)
) -> Machine:
    """Draw one machine; the plain ones follow the table of constants of the model."""
    cylinder = float(rng.choice([1e-4, 2.5e-4, 5e-4, 1e-3]))
    density = rng.uniform(800.0, 1300.0)
    target = rng.uniform(*fill) * cylinder * density
    gain = (1.0 + 0.0155 * rng.standard_normal()) * (1.0 - abs(0.004 * rng.standard_normal()))
    offset = 0.012 * cylinder * density * rng.standard_normal()
    shot_sd = 0.0025 * target * math.exp(0.5 * rng.standard_normal())
    shot_sd = {"rough": 0.01 * target, "rougher": 0.015 * target}.get(kind, shot_sd)
    step = 1e-5 if target < 0.3 else 1e-4
    step = {"coarse": 2.0 * shot_sd, "coarser": 0.005 * target}.get(kind, step)
    off = {"dense_high": 1.05, "dense_low": 0.95}.get(kind, 1.0)
    sign = 1.0 if rng.random() < 0.5 else -1.0
    return Machine(
        target=target,
        cylinder=cylinder,
        density=density,
        told_density=density * off,
        gain=gain,
        offset=offset,
        bend=rng.uniform(-0.1, 0.1) if kind == "curved" else 0.0,
        shot_sd=shot_sd,
        step=step,
        wheel=0.0008 * cylinder * density * (2.0 if kind == "wheel" else 1.0),
        play=(0.02 if kind == "play" else 0.01) * cylinder,
        creep=sign * target * rng.uniform(0.0002, 0.001) if kind == "drift" else 0.0,
        air=target * rng.uniform(0.003, 0.02) if kind == "air" else 0.0,
        fade=rng.uniform(1.0, 4.0),
        wild=0.1 if kind == "wild" else 0.0,
        heavy=kind == "heavy",
        is_above=kind == "above",
    )


@dataclass(kw_only=True)
class Bench:
    """A machine while it is being trimmed: where its stop is, what it has shown."""

    machine: Machine
    rng: np.random.Generator
    groups: list[ShotGroup] = field(default_factory=list)
    shots: int = 0
    over: int = 0
    used: float = 0.0
    _shown: float = 0.0
    _stop: float = 0.0
    _wheel: float = 0.0

    def turn(self, place: float, via: float | None = None) -> None:
        """Turn the wheel; what is not taken up of the play leaves the stop too high."""
        if via is not None:
            moved = max(self._shown - via, 0.0)
            self._stop = min(self._stop, via + min(self.machine.play, moved))
        stays = via is not None or self.machine.is_above
        self._stop = max(self._stop, place) if stays else place
        if self.machine.is_above and not self.groups:
            self._stop = place + self.machine.play
        self._shown = place
        self._wheel = self.machine.wheel * self.rng.standard_normal()
        self.groups.append(ShotGroup(setting=place, readings=()))

    def mean(self) -> float:
        """Return the mean of the next dose here, air left out."""
        return self.machine.mean_at(self._stop, self.shots) + self._wheel

    def shoot(self) -> float:
        """Fill one and weigh it."""
        m = self.machine
        noise = self.rng.standard_t(4) / math.sqrt(2.0) if m.heavy else self.rng.standard_normal()
        dose = self.mean() + m.shot_sd * noise - m.air * math.exp(-self.shots / m.fade)
        self.over += dose > OVER * m.target
        self.used += dose / m.target
        if self.rng.random() < m.wild:
            sign = 1.0 if self.rng.random() < 0.5 else -1.0
            dose += sign * m.shot_sd * self.rng.uniform(5.0, 30.0)
        reading = max(round(dose / m.step) * m.step, 0.0)
        last = self.groups[-1]
        self.groups[-1] = replace(last, readings=(*last.readings, reading))
        self.shots += 1
        return reading


@dataclass(frozen=True)
class Trimmed:
    """How one trim ended."""

    shots: int
    over: int
    used: float
    done: bool
    inside: bool
    stated: float
    past: PastTrim


def trim_ours(
    machine: Machine,
    rng: np.random.Generator,
    *,
    probability: float = 0.9,
    alpha: float = 0.05,
    begins_anew: bool = False,
    **known: object,
) -> Trimmed:
    """Trim by the advice of the science; what does not settle may begin anew from below, once."""
    bench = Bench(machine=machine, rng=rng)
    since, wanted = 0, probability

    def ask() -> TrimStep:
        return next_setting(
            bench.groups[since:],
            target=machine.target,
            upper_limit=OVER * machine.target,
            within=WITHIN,
            probability=wanted,
            alpha=alpha,
            cylinder=machine.cylinder,
            density=machine.told_density,
            readability=machine.step,
            **known,
        )

    act = ask()
    while not act.done:
        if sum(len(group.readings) for group in bench.groups[since:]) >= MOST:
            if since or not begins_anew or not act.feasible:
                break
            since, wanted = len(bench.groups), max(probability, SECOND_PROBABILITY)
            bench.turn(act.setting, max(act.setting - 2.0 * _TOLD_PLAY * machine.cylinder, 0.0))
        elif not bench.groups or act.direction is not Direction.STAY:
            bench.turn(act.setting, act.via)
        bench.shoot()
        act = ask()
    return _ended(bench, done=act.done, stated=act.p_within, since=since)


def trim_by_proportion(
    machine: Machine, rng: np.random.Generator, *, start: float, row: int
) -> Trimmed:
    """Trim by plain proportion until so many shots in a row are inside."""
    bench = Bench(machine=machine, rng=rng)
    place = min(start * machine.target / machine.told_density, machine.cylinder)
    bench.turn(place)
    hits = 0
    while bench.shots < MOST:
        reading = bench.shoot()
        if abs(reading / machine.target - 1.0) <= WITHIN:
            hits += 1
            if hits == row:
                break
            continue
        hits = 0
        wanted = min(place * machine.target / max(reading, 0.3 * machine.target), machine.cylinder)
        bench.turn(wanted, max(wanted - machine.play, 0.0) if wanted < place else None)
        place = wanted
    return _ended(bench, done=hits == row, stated=math.nan)


def _ended(bench: Bench, *, done: bool, stated: float, since: int = 0) -> Trimmed:
    """Return how a trim ended: whether the mean of the next dose is inside, without air."""
    m = bench.machine
    off = abs(bench.mean() / m.target - 1.0)
    return Trimmed(
        shots=bench.shots,
        over=bench.over,
        used=bench.used,
        done=done,
        inside=off <= WITHIN,
        stated=stated,
        past=PastTrim(
            shots=tuple(bench.groups[since:]),
            target=m.target,
            cylinder=m.cylinder,
            density=m.told_density,
            readability=m.step,
        ),
    )
