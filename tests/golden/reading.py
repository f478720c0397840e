"""One golden joint as study and as results.json: both must say what the hand says."""

import math

import pytest

import thread_repair as tr
from thread_repair.report.results import results
from thread_repair.study import study

#: A hand value has five figures or more.
CLOSE = 2e-5


def near(value):
    return pytest.approx(value, rel=CLOSE, abs=1e-9)


class Joint:
    def __init__(self, **keys):
        self.study = study(tr.read(keys))
        self.document = results(self.study, with_chances=False)

    def mode(self, state, name, *, basis="ultimate"):
        """Area, stress, factor and load of one mode, alike in study and file."""
        found = [
            m
            for m in self.study.evaluation.states[state].modes
            if m.mode == name and (m.primary if basis == "ultimate" else m.basis == basis)
        ]
        (written,) = (
            m
            for m in self.document["states"][state]["modes"]
            if m["mode"] == name and (m["primary"] if basis == "ultimate" else m["basis"] == basis)
        )
        (one,) = found
        values = (one.area, one.stress, one.factor, one.capacity)
        keys = ("area_mm2", "stress_MPa", "factor", "capacity_N")
        assert [written[key] for key in keys] == near(list(values))
        return values

    def state(self, state):
        """Engaged length, governing mode, pull-out mode and load, required length."""
        one, written = self.study.evaluation.states[state], self.document["states"][state]
        names = (
            "engagement", "governing_mode", "pull_out_mode", "pull_out", "strength",
            "required_engagement",
        )  # fmt: skip
        keys = (
            "engagement_mm", "governing_mode", "pull_out_mode", "pull_out_N", "strength_N",
            "required_engagement_mm",
        )  # fmt: skip
        values = {name: getattr(one, name) for name in names}
        for (name, value), key in zip(values.items(), keys, strict=True):
            if isinstance(value, str):
                assert written[key] == value, name
            elif math.isnan(value):
                assert written[key] is None, name
            else:
                assert written[key] == near(value), name
        return values

    def budget(self, state):
        """Steps of the engaged length, mm."""
        steps = [step.mm for step in self.study.evaluation.states[state].budget]
        assert [step["mm"] for step in self.document["states"][state]["budget"]] == near(steps)
        return steps

    def ratio(self):
        value = self.study.evaluation.pull_out_ratio
        assert self.document["comparison"]["pull_out_ratio"] == near(value)
        return value

    def margins(self):
        """(demand, capacity, margin) by (state, mode, load case, against); certified left out."""
        found = {
            (m.state, m.mode, m.load_case): (m.demand, m.capacity, m.margin)
            for m in self.study.margins
            if not m.certified
        }
        written = {
            (m["state"], m["mode"], m["load_case_id"]): (
                m["factored_demand_N"],
                m["capacity_N"],
                m["margin"],
            )
            for m in self.document["margins"]
            if m["against"] != "certified minimum"
        }
        assert written.keys() == found.keys()
        for key, values in found.items():
            assert written[key] == near(values), key
        return found

    def tightening(self, state):
        """Numbers of one tightened state, from the file; the window as in the study."""
        written = self.document["tightening"]["states"][state]
        one = self.study.preloads.states[state]
        assert (written["window_min_Nm"], written["window_max_Nm"]) == near(one.window_nm)
        service = one.preload.service
        assert written["service_preload_min_N"] == near(service.least)
        assert written["service_preload_max_N"] == near(service.highest)
        return written
