"""What the Release page orders: settle, draw, weigh, sign, release, or not."""

from __future__ import annotations

from fillwright.jobs.act import Act, Expects, Option
from fillwright.jobs.release.lot import LotView, may_not_go
from fillwright.jobs.words import trays
from fillwright.records.entities import Stage
from fillwright.records.entries import LotJudged
from fillwright.records.fold import JobState
from fillwright.records.spans import words

__all__ = ["act_of", "goes_under_label", "next_words"]


def act_of(state: JobState, lot: LotView, wanted: int) -> Act:
    """Return the order of the page."""
    if state.released is not None:
        return _act_closed(state)
    word = state.known.container.word
    if state.run is None or state.run.finished is None:
        return Act(
            stage=Stage.RELEASE,
            what="run",
            order="The run is not finished. Go back to Run.",
            main="Back to Run",
            missing="The run is not finished.",
        )
    if state.open_spans:
        return Act(
            stage=Stage.RELEASE,
            what="settle",
            order=f"Settle the held {word}s first.",
            why=_why_held(state),
            main="Settle the held ones",
            missing="Held ones are not settled.",
            state="held",
            state_words="Held",
        )
    if state.lot is not None:
        return _act_judged(state, state.lot, lot, wanted)
    if not goes_under_label(lot):
        return _act_relabelled(state, lot, wanted) if lot.relabelled else _act_empty(word)
    if not state.samples:
        return _act_draw(state, lot)
    if not lot.still_to_weigh:
        return Act(
            stage=Stage.RELEASE,
            what="draw",
            order="Judge the lot again.",
            why="Something was changed since it was judged; the whole sample is weighed.",
            main="Judge it again",
            expects=Expects.CONFIRM,
            options=(Option(what="close", label="Close without release", asks="Why?"),),
        )
    number = lot.still_to_weigh[0]
    return Act(
        stage=Stage.RELEASE,
        what="weigh",
        order=f"Fetch {word} {number} and weigh it.",
        why=f"{next_words(state, lot)}. {len(lot.still_to_weigh)} of {len(lot.drawn)} left.",
        main="Keep",
        expects=Expects.WEIGHT,
        value=str(number),
        options=(Option(what="undo", label="Undo last weight", key="-"),),
    )


def _why_held(state: JobState) -> str:
    """Return what is held, and that a release was opened again for it."""
    held = f"Held: {words(state.open_spans)}."
    if not state.reopenings:
        return held
    _, _, last = state.reopenings[-1]
    gone = f"{last.containers} had gone out: tell whoever can call them back."
    return f"{held} The release was opened again, {last.reason}. {gone}"


def _act_closed(state: JobState) -> Act:
    """Return the act of a lot that is closed."""
    return Act(
        stage=Stage.RELEASE,
        what="strip",
        order="The lot is closed. Strip and clean.",
        why=_headline_closed(state),
        main="Go on with Strip",
        state="on" if state.released and state.released.outcome == "released" else "stop",
        state_words="Released"
        if state.released and state.released.outcome == "released"
        else "Not released",
        options=(Option(what="paper", label="Print the batch record"),),
    )


def _headline_closed(state: JobState) -> str:
    """Return how the lot was closed."""
    done = state.released
    if done is None:
        return ""
    if done.outcome == "released":
        return f"{done.containers} released."
    return f"Not released: {done.reason}"


def _act_empty(word: str) -> Act:
    """Return the order where nothing of the lot is left."""
    return Act(
        stage=Stage.RELEASE,
        what="close",
        order="Nothing is left to go out. Close the lot.",
        why=f"No {word} of this lot is left.",
        main="Close without release",
        expects=Expects.CHOICE,
        options=(Option(what="close", label="Close without release", asks="Why?"),),
        state="stop",
        state_words="Nothing left",
    )


def _act_relabelled(state: JobState, lot: LotView, wanted: int) -> Act:
    """Return the order where all that goes out carries another label."""
    why = (
        "All that go out are re-labelled: each was weighed, and holds what its new label says. "
        "No sample is drawn."
    )
    signed = {s.role for _, s in state.signatures}
    if "filled" not in signed:
        return _act_sign("filled", "Sign: filled by.", why)
    if wanted > 1 and "checked" not in signed:
        return _act_sign("checked", "A second person signs: checked by.", why)
    return _act_go(lot, why)


def _act_go(lot: LotView, why: str) -> Act:
    """Return the order to let the lot go."""
    total = lot.going_out + lot.relabelled
    more = f" {lot.relabelled} of them re-labelled." if lot.relabelled else ""
    return Act(
        stage=Stage.RELEASE,
        what="release",
        order=f"Release {total}.{more}",
        why=why,
        main=f"Release {total}",
        expects=Expects.CONFIRM,
        options=(Option(what="close", label="Close without release", asks="Why?"),),
        state="on",
        state_words="May be released",
    )


def goes_under_label(lot: LotView) -> bool:
    """Return True where something goes out under the label of the job."""
    return lot.going_out > 0


def _act_draw(state: JobState, lot: LotView) -> Act:
    """Return the order to draw the sample, or what to do where there is no plan."""
    word = state.known.container.word
    shut = Option(what="close", label="Close without release", asks="Why?")
    if lot.required is None:
        return Act(
            stage=Stage.RELEASE,
            what="facts",
            order="No sampling plan for this lot.",
            why=lot.because,
            main="Change the facts",
            missing=lot.because,
            options=(shut,),
            state="warn",
            state_words="No plan",
        )
    have = len([n for n in lot.eligible if n in lot.weighed_g])
    if lot.required == lot.going_out:
        return Act(
            stage=Stage.RELEASE,
            what="draw",
            order=f"Weigh every {word} for the lot test.",
            why=f"Of {lot.going_out} going out {have} are weighed already; the others are fetched "
            "and weighed.",
            main="Take them all",
            expects=Expects.CONFIRM,
            options=(shut,),
        )
    return Act(
        stage=Stage.RELEASE,
        what="draw",
        order=f"Draw {lot.required} {word}s by chance for the lot test.",
        why=f"Of {lot.going_out} going out {have} are weighed already; those that are drawn "
        "count, the others are fetched and weighed.",
        main="Draw the sample",
        expects=Expects.CONFIRM,
        options=(shut,),
    )


def _act_judged(state: JobState, verdict: LotJudged, lot: LotView, wanted: int) -> Act:
    """Return the order once the lot is judged."""
    shut = Option(what="close", label="Close without release", asks="Why?")
    if verdict.verdict == "second-sample":
        return Act(
            stage=Stage.RELEASE,
            what="draw",
            order="Draw the second sample.",
            why=verdict.because,
            main="Draw the second sample",
            expects=Expects.CONFIRM,
            options=(shut,),
            state="warn",
            state_words="Second sample",
        )
    if may_not_go(verdict):
        return Act(
            stage=Stage.RELEASE,
            what="close",
            order="Do not release.",
            why=f"{verdict.because} Ways on: weigh every one, re-fill, or re-label.",
            main="Close without release",
            expects=Expects.CHOICE,
            options=(shut,),
            state="stop",
            state_words="Do not release",
        )
    signed = {s.role for _, s in state.signatures}
    if "filled" not in signed:
        return _act_sign("filled", "Sign: filled by.", verdict.because)
    if wanted > 1 and "checked" not in signed:
        return _act_sign("checked", "A second person signs: checked by.", verdict.because)
    return _act_go(lot, verdict.because)


def _act_sign(role: str, order: str, why: str) -> Act:
    """Return the order to sign."""
    return Act(
        stage=Stage.RELEASE,
        what="sign",
        order=order,
        why=why,
        main="Sign",
        expects=Expects.SIGNATURE,
        value=role,
        missing="A signature is missing.",
        state="on",
        state_words="Accepted",
    )


def next_words(state: JobState, lot: LotView) -> str:
    """Return where the next of the sample stands."""
    if not lot.still_to_weigh:
        return ""
    number = lot.still_to_weigh[0]
    size = state.known.tray_size
    place = (number - 1) % size + 1
    word = state.known.container.word
    tray = trays(number, number, size)
    return f"{word.capitalize()} {number}: {tray}, place {place}"
