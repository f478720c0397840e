"""Every fact has its sentence and every sentence its fact, in every system of units."""

import ast
import random
import re
import sys
from pathlib import Path
from types import SimpleNamespace

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import facts, words
from thread_repair.errors import InputError
from thread_repair.report import paths
from thread_repair.report.blocks import review, verification
from thread_repair.study.shown import criterion_row

PACKAGE = Path(tr.__file__).parent
#: Units of SI behind a number.
SI = re.compile(r"\d (mm²?|kN|N|MPa|N·m|°C)(?!\w)")
INCH = re.compile(r"\d (in²?|lbf|ksi|in·lbf|°F)(?!\w)")
#: What a case may say, drawn from at random; most joints leave most of it out.
CHOICES = {
    "thread": ["M3x0.5", "M8", "M10x1", "M12", "4-40 UNC", "1/4-20 UNC", "1/2-20 UNF", "3/8 BSF"],
    "screw": ["4.6", "8.8", "12.9", "A2-70"],
    "parent": [
        "6061-T6", "7075-T651", "AZ91C-T6-sand", "356.0-T6-sand", "A356.0-class-1",
        "A356.0-class-10", "ZP5", "EN-GJL-250", "EN-GJS-600-3", "AZ31-O-sheet", "CW614N-R360", "ADC12", "LM25", "EN AW 6082",
        "unknown-aluminium-casting", "unknown-zinc",
    ],
    "engagement": ["0.5 D", "1 D", "1.5 D", "2.5 D"],
    "insert_length": ["1 D", "1.5 D", "1.7 D", "3 D"],
    "boss_diameter": [None, None, "1.75 D", "2.2 D", "3 D"],
    "boss_support": ["unknown", "base", "face"],
    "edge_distance": [None, "1.6 D", "2.2 D", "4 D"],
    "screw_reach": [None, "1 D", "2 D"],
    "part_thickness": [None, "1.6 D", "60 mm"],
    "casting_factor": [None, None, "0.8"],
    "temperature": [None, None, "100 degC"],
    "design_load": [None, "300 N", "30 kN"],
    "torque": [None, "2 N·m", "17 N·m"],
    "friction": ["0.10 to 0.14"],
    "tolerance_position": ["minimum-material", "mean", "basic"],
    "load_share": [None, "0.2"],
    "hole_condition": [None, None, "worn", "insert-pulled-out", "cracked"],
    "damaged_diameter": [None, None, None, "1.02 D"],
}  # fmt: skip
SUPPLIED = {
    "parent_shear_strength": "200 MPa",
    "parent_tensile_strength": "310 MPa",
    "parent_source": "test report 9 (invented)",
}
MEAN = {
    **SUPPLIED,
    "parent_strength_basis": "mean",
    "parent_strength_pieces": "10",
    "parent_strength_scatter": "4 %",
}


def drawn(seed):
    """Return a case drawn at random, or None where it is refused."""
    pick = random.Random(seed)
    entered = {key: pick.choice(values) for key, values in CHOICES.items()}
    entered |= pick.choice([{}, {}, {}, SUPPLIED, MEAN, {"parent_hardness": "HB 85"}])
    if entered.get("torque") is None:
        del entered["friction"], entered["load_share"]
    if pick.random() < 0.2:
        entered |= {"tolerance_position": "measured", "measured_screw_pitch": "0.8 D"}
    try:
        return cases.read({key: value for key, value in entered.items() if value is not None})
    except InputError:
        return None


def said(study):
    """Return every fact of a study: its own, and those of its parts."""
    evaluation = study.evaluation
    joint = evaluation.joint
    yield from study.facts
    for state in evaluation.states.values():
        yield from (step.why for step in state.budget)
        yield from (note for mode in state.modes for note in mode.notes)
    for strength in (joint.parent_shear, joint.parent_tensile, joint.parent_yield,
                     joint.flow_stress, joint.wire_shear):  # fmt: skip
        if strength is not None:
            yield strength.named
    yield from (reason for each in study.required for reason in each.reasons)
    yield from (reason for each in study.alternatives for reason in each.reasons)
    yield from (each.size for each in study.alternatives if each.size is not None)


def without_texts(found):
    """Return the fact without what others wrote: the name of a product may hold a size."""
    values = {
        name: "text" if isinstance(value, str) else value for name, value in found.values.items()
    }
    return facts.Fact(id=found.id, level=found.level, values=values)


#: Of the first 160 seeds the fewest whose cases say together what all of them say.
TELLING = (118, 98, 59, 44, 97, 47, 123, 67, 1, 7, 60, 16, 23, 39, 63, 64, 124)


def printed(seeds):
    """Print every fact of cases drawn at random: how many could be studied, the ids they said."""
    seen, studied = set(), 0
    for seed in seeds:
        case = drawn(seed)
        if case is None:
            continue
        try:
            found = tuple(said(tr.study(case)))
        except InputError:  # sizes that do not fit together
            continue
        studied += 1
        for each in found:
            assert each.level in facts.LEVELS
            assert each.id in words.catalogue()["facts"], each.id
            bare = without_texts(each)
            texts = {s: words.sentence(bare, system=s) for s in ("SI", "inch", "both")}
            for text in texts.values():
                assert not re.search(r"[{}]|\bnan\b", text), text
            assert not SI.search(texts["inch"]), texts["inch"]
            assert not INCH.search(texts["SI"]), texts["SI"]
            paths.plain(each, said=False)
            seen.add(each.id)
    return studied, seen


def test_every_fact_of_random_cases_prints_in_every_system():
    """By hand, more of them: python tests/study/test_words.py 1000"""
    studied, seen = printed(TELLING)
    # The cases are unlike enough to say most of what can be said of a joint.
    assert studied > 12 and len(seen) > 125, (studied, len(seen))


def test_a_share_near_the_whole_has_no_more_digits_than_its_interval():
    printed = [words.quantity(facts.share(x), how="3") for x in (0.988999, 0.99042, 0.99185)]
    assert printed == ["98.9 %", "99.04 %", "99.19 %"]
    assert words.quantity(facts.share(0.9951), how="1") == "99.5 %"


def test_a_value_that_is_not_known_prints_as_a_dash():
    found = facts.fact("open_values_several", "caution", values=facts.share(float("nan")), named=())
    assert words.sentence(found).startswith("– governing values")


def named():
    """Texts of the package that may be an id, patterns of others, and all text of its data."""
    found, patterns = set(), set()
    for file in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                fixed = [p.value for p in node.values if isinstance(p, ast.Constant)]
                if sum(map(len, fixed)) >= 4:  # f"{one}_{other}" would fit everything
                    patterns.add(
                        "".join(
                            re.escape(p.value) if isinstance(p, ast.Constant) else r"\w*"
                            for p in node.values
                        )
                    )
    tables = " ".join(file.read_text("utf-8") for file in (PACKAGE / "data").glob("*.csv"))
    return found, patterns, set(re.findall(r"[\w.-]+", tables))


def test_no_sentence_of_the_catalogue_is_unused():
    texts, patterns, cells = named()
    ids = re.compile("|".join(f"(?:{each})" for each in sorted(patterns)))
    catalogue = words.catalogue()
    unused = [
        id_
        for id_ in catalogue["facts"]
        if id_ not in texts and id_ not in cells and not ids.fullmatch(id_)
    ]
    assert not unused
    data = (PACKAGE / "data" / name for name in ("results.toml", "words/layouts.toml"))
    by_path = set(
        re.findall(r"\bterm (\w+)|\"(\w+)(?: \w+)?: ", " ".join(map(Path.read_text, data)))
    )
    led = {kind for pair in by_path for kind in pair}
    known = texts | led
    assert not [
        each for each in catalogue["terms"] if each not in known and not ids.fullmatch(each)
    ]


def test_every_brace_of_a_sentence_names_a_value():
    for id_, text in words.catalogue()["facts"].items():
        assert text == text.strip() and not text.endswith(".."), id_
        for brace in re.findall(r"{([^}]*)}", text):
            assert re.fullmatch(r"[a-z_]+(:[\w.]+)?", brace), (id_, brace)


def stated(**changes):
    folder = Path(__file__).parents[2] / "reports" / "demo-rig-plate"
    found = tr.study(cases.read({**cases.load_text(folder), **changes}, folder=folder))
    return found, {each.id: each.level for each in found.facts}


def test_a_loss_without_effect_on_the_joint_is_information():
    """Grey iron: weaker against stripping, but the screw limits both and every margin is kept."""
    found, levels = stated(parent="EN-GJL-250")
    assert found.evaluation.pull_out_ratio < 1
    assert found.conclusion.id != "does_not_support" and found.conclusion.adequate
    assert levels["repair_weaker"] == levels["limited_by_screw"] == "info"
    assert levels["boss_reduces_base"] == "info"


def test_a_loss_that_refuses_the_repair_is_a_limit():
    found, levels = stated(boss_diameter="14 mm")
    assert "stripping_strength" in [name for _, name in found.conclusion.failed]
    assert levels["repair_weaker"] == levels["boss_reduces_base"] == "limit"


def test_a_load_that_is_not_carried_is_a_limit_and_the_strength_another_matter():
    _, levels = stated(design_load="30 kN")
    assert levels["not_adequate"] == "limit" and levels["repair_stronger"] == "info"


def test_ends_that_print_alike_are_one_value():
    def said(form, low, high):
        return words.filled(form, {"a": facts.force(low), "b": facts.force(high)})

    assert said("of {a} to {b}.", 19_300, 19_301) == "of 19.3 kN."
    assert said("of {a:3} to {b:3}.", 19_300, 19_400) == "of 19.3 kN to 19.4 kN."
    assert said("from {a} to {b}.", 19_300, 19_301) == "from 19.3 kN to 19.3 kN."
    row = {"title": "m", "joints": 1, "for_wire_inserts": True, "original": (1.46, 1.461),
           "repaired": (1.46, 1.47), "change": (1.0, 1.0)}  # fmt: skip
    shown = verification.methods_table(SimpleNamespace(methods=[row]))
    assert [str(each) for each in shown.rows[0]][2:] == ["1.46", "1.46 to 1.47", "1.00"]


def test_a_length_that_is_a_minimum_is_not_printed_below_it():
    """A drilled depth of 0.8125 in was required as 0.81 and 0.812 in, and a reach of 19.32 mm as 19.3."""
    depth, reach = facts.length(0.8125 * 25.4), facts.length(19.3125)
    assert words.quantity(depth, how="least", system="inch") == "0.813 in"
    assert words.quantity(reach, how="least", system="both") == "19.32 mm (0.761 in)"
    of = tr.study(tr.read({"thread": "3/8-24 UNF", "screw": "160-ksi", "parent": "7075-T651",
                           "engagement": "0.56 in", "insert_length": "1.5 D", "hole_kind": "blind",
                           "hole_depth": "1.1 in", "report_units": "inch"}))  # fmt: skip
    (asked,) = (each for each in of.criteria if each.id == "drilled_depth")
    said = [*criterion_row(asked, "inch"), review.recommendation(of).data.replace("\\", "")]
    assert said[1:4] == ["0.813 in", "1.100 in", "–"]
    assert "0.813 in with a plug tap" in said[-1] and "0.812" not in said[-1]


if __name__ == "__main__":
    done, ids = printed(range(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
    print(f"{done} studies said {len(ids)} facts")
