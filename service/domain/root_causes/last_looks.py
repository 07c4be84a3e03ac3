"""What the looks after the last failure say of the most probable cause: that it is gone, or that it is still so."""

from datetime import date

from service.domain.root_causes.attribution import Attribution
from service.domain.root_causes.exposure import FOUND, Track
from service.domain.root_causes.failures import views_of
from service.domain.root_causes.presence import IN_PART, PRESENT
from service.domain.root_causes.views import OVERLOAD, View

ALL_SEASONS = 330  # days between visits that saw every season, for what comes and goes with them


def absent_since(weighed: Attribution) -> str | None:
    """From when on the last readings, of all seasons after the last failure, show the best cause no more."""
    view = _view(weighed)
    if view is None or view.measured != "readings":
        return None
    failed, track = weighed.failures.events[-1].on.toordinal(), _track(weighed, view)
    shown = [day for day, found, left in track if day <= failed or max(found, left) >= IN_PART]
    after = [day for day, _, _ in track if day > max(shown, default=0)]
    return date.fromordinal(after[0]).isoformat() if after and after[-1] - after[0] >= ALL_SEASONS else None


def still_so(weighed: Attribution) -> str | None:
    """The day of the last look after the last failure, if the best cause was read or found there.

    What a switch carries over its rating is one figure for all of the time: it has the day of that failure.
    However long nothing fails then, the cause is not gone. A rating that nobody recorded says nothing.
    """
    view, history, failed = _view(weighed), weighed.history, weighed.failures.events[-1].on
    if view is None or view.measured == "nothing" or weighed.assumed(weighed.failures.events[-1].component):
        return None
    if view.measured == "grades":
        looks = [
            (t.on, FOUND[t.as_found])
            for t in history.performed
            if t.task in weighed.best.tasks and t.as_found and t.on > failed
        ]
        shown = looks and looks[-1][1] >= FOUND["heavy"]
    else:
        track = _track(weighed, view)
        looks = [(date.fromordinal(day), found) for day, found, _ in track if day > failed.toordinal()]
        if view is OVERLOAD:  # one figure for all of the time
            looks = [(failed, found) for _, found, _ in track]
        shown = looks and looks[-1][1] >= PRESENT
    return looks[-1][0].isoformat() if shown else None


def _view(weighed: Attribution) -> View | None:
    return None if weighed.view is None else views_of(weighed.failures.kind)[weighed.view][0]


def _track(weighed: Attribution, view: View) -> Track:
    event = weighed.failures.events[-1]
    return view.track(weighed.history, event.kind, view.place(event.kind, event.component))
