"""Hostile case files: a sentence or a result, never a traceback, an execution or half a report.

Every hostile file, number and name is read and evaluated once and 40 mixed ones, a few are built as
reports. The generator is seeded; `python tests/test_hostile_cases.py N` runs N mixed ones with
another seed by hand.
"""

import contextlib
import io
import random
import resource
import sys
import tempfile
from pathlib import Path

import pytest
from whole import is_whole

from thread_repair import case as cases
from thread_repair.cli import main

COUNT = 40
VALID = {
    "title": "Cover",
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "1.5 D",
    "design_load": "9 kN",
}
#: Each would make the file CANARY if something ran it.
CODE = (
    "__import__('os').system('touch CANARY')",
    "{{ ''.__class__.__mro__[1].__subclasses__() }} ${open('CANARY','w')}",
    "\"; open('CANARY', 'w') #",
    "'''\nopen('CANARY', 'w')\n'''",
    "$(touch CANARY) `touch CANARY` ; touch CANARY | touch CANARY & touch CANARY",
    "<script>alert(1)</script><img src=x onerror=alert(1)>",
    '#read("/etc/passwd") #eval("1") #import "@preview/x:1.0.0": *',
    "\\input{/etc/passwd} $\\write18{touch CANARY}$ \\immediate",
    "=cmd|' /C calc'!A0",
    "%run CANARY\n!touch CANARY\n%%bash\ntouch CANARY",
    'f\'{open(chr(67)+"ANARY", "w")}\'',
    '```{=typst}\n#read("/etc/passwd")\n```\n<!-- ',
    "[TOC] @fig:none {#id .class} ::: {.sign-off} :::",
    "\x00\x07\x1b[2J\x1b]0;title\x07",
    "\u202e\u2066gnirts\u2069\u202d \ufeff\u200b",
    "%s%s%n {0} {} {:>99999999} %(x)s",
    "../../../../etc/passwd\\..\\..\\CANARY",
    "𝕄𝟠 ｍｍ １２ ١٢ 十二 Ⅷ ½",
    "🔩" * 50,
    "a" * 3999,
    "\t \t",
    "|a|b|\n|-|-|\n|c|d|",
)
NUMBERS = (
    "nan", "NaN mm", "inf", "-inf mm", "1e999", "1e308 mm", "-1e308 kN", "1e-320 mm", "0", "-0",
    "0 mm", "9" * 400, "1" + "0" * 5000, "0x10 mm", "1_000 mm", "1,5 mm", "1/0 mm", "1 mm 2 mm",
    "1e12 mm", "1e4 mm", "0.01 mm", "12 mm**99999", "2**2**2**2**99 mm", "1 mm^1e9", "(((((1))))) mm", "12 kg", "12 furlong",
    "1 D D D", "-1 D", "1e5 D", "12 degC", "1 mm/s*s", "12 'mm'", "mm", "lambda: 0", "12mm;", "٣ mm",
    "1 mm if True else 2", "12 m m", "12 MPa", "5%", "∞ mm", "12 µm", "1 mm\n", "true", "[]", "{}",
)  # fmt: skip
NAMES = (
    "M8x", "M0x0", "M-8", "M8x1.25x3", "M" + "9" * 300, "M1e5", "M8×1.25-6H/6g;rm", "1/0-20 UNC",
    "999/1000-20 UNC", "1/4--20", "#-1", "M8x1.25\x00", "m8", "M８", "W1/4", "../M8", "8.8.8", "-",
    "A" * 5000, "__class__", "6061-T6'", "%", "None", "x\ny",
)  # fmt: skip
KEYS = (
    "__import__('os').system('touch CANARY')", "title; import os", "class", "__builtins__", "case",
    "os", "tr", "entered", "folder", "case_folder", "x" * 3000, "<script>", "?", "", " ", "\u202e",
    "Title", "THREAD", "thread ", "globals()", "self", "import", "1", "a.b", "a[0]", "a=b",
)  # fmt: skip
RAW = (
    "a: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n",
    "title: &t x\nscope: *t\n",
    '!!python/object/apply:os.system ["touch CANARY"]\n',
    'title: !!python/object/apply:os.system ["touch CANARY"]\n',
    'title: !!python/name:os.system\nthread: !!float "8"\n',
    "title: !<tag:yaml.org,2002:python/module:os> x\n",
    "title: x\ntitle: y\n",
    "- a\n- b\n",
    "just text",
    "",
    "\n\n# nothing\n",
    "--- \na: 1\n--- \nb: 2\n",
    "{" * 2000,
    "[" * 20000,
    "a: " * 3000,
    "\ttitle: x\n",
    "title: |\n" + "  x\n" * 20000,
    "? [a, b]\n: c\n",
    "<<: {a: 1}\n",
    "title: 'unclosed\n",
    "%YAML 9.9\n---\ntitle: x\n",
    "%TAG ! tag:x,2000:\n---\ntitle: !a x\n",
    "title: pump: cover\nitem: &5 plate\nscope: !x\n",
    "title: {a: b}\n",
    "title: [a]\n",
    "\ufefftitle: x\n",
    "title: \x85x\n",
    "a" * 200_000,
)
#: Keys that hold words, which no check can call wrong.
TEXTS = (
    "title", "document", "revision", "customer", "item", "serials", "scope", "damage",
    "prepared_by", "checked_by", "approved_by", "environment", "load_factor_source",
)  # fmt: skip
BYTES = (
    b"\xff\xfe\x00",
    b"title: \xc3\x28\n",
    b"\x00" * 50,
    b"title: \xed\xa0\x80\n",
    b"PK\x03\x04",
)


def quoted(text):
    """Write a value so that YAML hands it over whole; what YAML cannot hold stays raw."""
    import yaml

    return yaml.safe_dump({"v": text}, allow_unicode=True, width=10**9).removeprefix("v:").strip()


def hostile(rng, canary):
    """Return the bytes of one hostile case file."""
    kinds, shares = ("texts", "values", "keys", "raw", "bytes", "cut"), (20, 50, 10, 12, 4, 4)
    kind = rng.choices(kinds, shares)[0]
    if kind == "bytes":
        return rng.choice(BYTES) + str(rng.random()).encode()
    if kind == "raw":
        body = "".join(f"{k}: {v}\n" for k, v in VALID.items()) if rng.random() < 0.5 else ""
        text = body + rng.choice(RAW)
    else:
        values = dict(VALID)
        for key in rng.sample(TEXTS, 5) if kind == "texts" else ():
            values[key] = rng.choice(CODE)
        for key in rng.sample(cases.keys(), rng.randint(1, 4)) if kind != "texts" else ():
            pool = rng.choice((CODE, CODE, NUMBERS, NUMBERS, NAMES))
            values[key] = rng.choice(pool)
        if kind == "keys":
            values[rng.choice(KEYS)] = rng.choice((*CODE, *NUMBERS))
        text = "".join(f"{quoted(k)}: {quoted(v)}\n" for k, v in values.items())
        if kind == "cut":
            text = text[: rng.randrange(len(text))]
    return text.replace("CANARY", str(canary)).encode("utf-8", "surrogatepass")


def each_once():
    """Yield every hostile file, number and name once, where a case would have it."""
    yield from (text.encode("utf-8", "surrogatepass") for text in RAW)
    yield from BYTES
    for key, pool in (("engagement", NUMBERS), ("thread", NAMES)):
        for value in pool:
            given = {**VALID, key: value}
            lines = (f"{quoted(k)}: {quoted(v)}\n" for k, v in given.items())
            yield "".join(lines).encode("utf-8", "surrogatepass")


def attempt(folder, content):
    """Evaluate one file: whether it was taken, and what is wrong with how, if anything is."""
    file = folder / "case.yaml"
    file.write_bytes(content)
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(["evaluate", str(file)])
    except BaseException as error:
        return False, f"{type(error).__name__}: {error}"
    said = err.getvalue()
    fault = None
    if code not in (0, 2):
        fault = f"exit code {code}: {said}"
    elif (code == 2) != bool(said.strip()) or (code == 2 and out.getvalue()):
        fault = f"exit code {code} with {said!r}"
    elif "Traceback" in said or any(len(line) > 1000 for line in said.splitlines()):
        fault = f"not a sentence: {said[:300]!r}"
    elif {path.name for path in folder.iterdir()} != {"case.yaml"}:
        fault = f"left behind {sorted(path.name for path in folder.iterdir())}"
    return code == 0, fault


def run(count, seed):
    """Return the faults of all hostile files and of `count` mixed ones, and how many were taken."""
    rng = random.Random(seed)
    faults, taken, refused = [], 0, 0
    with tempfile.TemporaryDirectory() as name:
        folder, canary = Path(name, "case"), Path(name, "canary")
        folder.mkdir()
        mixed = (hostile(rng, canary) for _ in range(count))
        for number, content in enumerate((*each_once(), *mixed)):
            content = content.replace(b"CANARY", str(canary).encode())
            valid, fault = attempt(folder, content)
            taken, refused = taken + valid, refused + (not valid)
            if fault:
                faults.append((number, fault, content[:400]))
            if canary.exists():
                faults.append((number, "EXECUTED", content[:400]))
                canary.unlink()
    return faults, taken, refused


@pytest.mark.slow
def test_hostile_cases(little_memory):
    faults, taken, refused = run(COUNT, 20260101)
    assert faults == []
    assert taken > 5 and refused > 50  # both roads are taken


@pytest.mark.slow
@pytest.mark.usefixtures("without_chances")
def test_a_sample_is_built_and_what_is_built_is_whole(tmp_path, capsys):
    rng = random.Random(7)
    canary = tmp_path / "canary"
    built = 0
    for number, text in enumerate(rng.sample(CODE, 2)):
        folder = tmp_path / f"{number}"
        folder.mkdir()
        values = {**VALID, "title": f"x {text}", "scope": text, "customer": text, "item": text}
        (folder / "case.yaml").write_text(
            "".join(
                f"{k}: {quoted(v.replace('CANARY', str(canary)))}\n" for k, v in values.items()
            ),
            "utf-8",
        )
        code = main(["report", str(folder), "--notebook", "concession_sheet"])
        said = capsys.readouterr()
        assert "Traceback" not in said.err + said.out
        if code == 0:
            built += 1
            assert is_whole(folder)
        else:
            assert code == 2, said.err
            assert [path.name for path in folder.iterdir()] == ["case.yaml"]
        assert not canary.exists()
    assert built


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_AS, (2**31, 2**31))
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    found, taken, turned = run(count, random.randrange(2**32))
    print(f"{turned + taken} files: {turned} refused, {taken} taken, {len(found)} faults")
    for each in found:
        print(*each, sep="\n  ")
