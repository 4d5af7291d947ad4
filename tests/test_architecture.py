"""The directions of the house: imports and foreign keys point left, and pure rooms stay pure."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.apps import apps

HOUSE = Path(__file__).resolve().parent.parent

# Each group may use those before it, and within a group nobody uses a neighbour unless listed.
ORDER = [
    ["guiding.units", "guiding.sources", "guiding.sun", "guiding.charts", "guiding.money"],
    ["guiding.command_line"],
    ["guiding.accounts"],
    ["guiding.history"],
    ["guiding.documents"],
    ["guiding.mail"],
    ["guiding.clients", "guiding.rivers", "guiding.tackle"],
    ["guiding.regimes"],
    ["guiding.gauges"],
    ["guiding.feeds"],
    ["guiding.ledger"],
    ["guiding.permits"],
    ["guiding.bookings"],
    ["briefings"],
    ["guiding.desk", "guiding.visits"],
    ["guiding.urls", "guiding.settings", "guiding.wsgi"],
]
# desk hands mail the function that makes the link, so it alone looks at its neighbour
NEIGHBOURS = {
    ("guiding.desk", "guiding.visits"),
    ("guiding.tackle", "guiding.rivers"),
}
RANK = {room: rank for rank, rooms in enumerate(ORDER) for room in rooms}

# single files that are pure, and folders in which every file is
PURE = [
    *("guiding.units", "guiding.sources", "guiding.sun", "guiding.money"),
    *("guiding.tackle.setup", "guiding.tackle.sink", "guiding.rivers.gridref"),
    *("guiding.bookings.pricing", "guiding.bookings.cancellation"),
    *("guiding.gauges.outlook_words", "guiding.gauges.picture", "guiding.gauges.ice"),
    *("guiding.gauges.outlook_sentence", "guiding.gauges.rain_shown", "guiding.gauges.water_words"),
    *(f"guiding.gauges.outlook_{name}" for name in ("ahead", "marks", "rain")),
    *(
        f"guiding.regimes.{name}"
        for name in (
            *("riverclock", "moved_water", "releases", "tides", "ice_looks"),
            *("linetable", "schedulefile", "tidefile"),
        )
    ),
    *("guiding.gauges.intake.csvmap", "guiding.gauges.intake.limits"),
    *("guiding.gauges.intake.riverfile", "guiding.gauges.intake.riversteps"),
    *(
        "briefings.pack.content",
        "briefings.pack.changes",
        "briefings.pack.words",
        "briefings.pack.lettering",
    ),
    "briefings.pack.drawings",
]
PURE_FOLDERS = [
    "guiding/charts",
    "guiding/gauges/hydrology",
    "guiding/gauges/conditions",
    "guiding/gauges/providers",
    "briefings/setups",
    "briefings/wading",
    "briefings/cautions",
    "briefings/kit",
]
# what the pure rooms may not reach for: a clock, the world outside, the framework
FORBIDDEN_IN_PURE = {"django", "logging", "requests", "socket", "sqlite3", "psycopg", "os", "time"}


def python_files():
    for top in ("guiding", "briefings"):
        for path in sorted((HOUSE / top).rglob("*.py")):
            if "migrations" not in path.parts:
                yield path


def module_of(path):
    parts = path.relative_to(HOUSE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module):
    for room in sorted(RANK, key=len, reverse=True):
        if module == room or module.startswith(f"{room}."):
            return room
    return None


def imports_of(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{name.name}" for name in node.names)


def pure_modules():
    inside = [
        module_of(path)
        for folder in PURE_FOLDERS
        for path in sorted((HOUSE / folder).glob("*.py"))
        if path.name != "__init__.py"
    ]
    return [*PURE, *inside]


def test_every_file_belongs_to_a_room_of_the_plan():
    lost = [module_of(p) for p in python_files() if room_of(module_of(p)) is None]

    assert lost == ["guiding"]


def test_imports_point_left():
    wrong = []
    for path in python_files():
        here = room_of(module_of(path))
        for name in imports_of(path):
            there = room_of(name)
            if here is None or there is None or here == there:
                continue
            points_left = RANK[there] < RANK[here]
            if not points_left and (here, there) not in NEIGHBOURS:
                wrong.append(f"{module_of(path)} imports {name}")

    assert wrong == []


def test_foreign_keys_point_left():
    wrong = []
    for model in apps.get_models():
        here = room_of(model.__module__)
        for field in model._meta.get_fields():
            if here is None or field.auto_created or not field.is_relation:
                continue
            there = room_of(field.related_model.__module__)
            if there is None or there == here or (here, there) in NEIGHBOURS:
                continue
            if RANK[there] >= RANK[here]:
                wrong.append(f"{model.__name__}.{field.name} -> {field.related_model.__name__}")

    assert wrong == []


def test_no_import_hides_inside_a_function_and_no_signal_is_used():
    wrong = []
    for path in python_files():
        tree = ast.parse(path.read_text())
        for outer in ast.walk(tree):
            if isinstance(outer, ast.FunctionDef | ast.AsyncFunctionDef):
                for inner in ast.walk(outer):
                    if isinstance(inner, ast.Import | ast.ImportFrom):
                        wrong.append(f"{module_of(path)}: import in {outer.name}")
        wrong += [f"{module_of(path)}: {n}" for n in imports_of(path) if "django.dispatch" in n]

    assert wrong == []


def test_packages_have_empty_init_files():
    full = [
        str(p.relative_to(HOUSE))
        for top in ("guiding", "briefings")
        for p in (HOUSE / top).rglob("__init__.py")
        if p.read_text().strip()
    ]

    assert full == []


@pytest.mark.parametrize("module", pure_modules())
def test_a_pure_room_loads_without_django(module):
    code = f"import sys, {module}; print([m for m in ('django', 'weasyprint') if m in sys.modules])"

    loaded = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=HOUSE,
        env={"PATH": os.environ["PATH"]},
    )

    assert loaded.stdout.strip() == "[]"


@pytest.mark.parametrize("module", pure_modules())
def test_a_pure_room_has_no_clock_and_reaches_for_nothing(module):
    path = HOUSE / Path(*module.split("."))
    text = path.with_suffix(".py") if path.with_suffix(".py").exists() else path / "__init__.py"
    source = text.read_text()

    reached = {name.split(".")[0] for name in imports_of(text)} & FORBIDDEN_IN_PURE

    assert reached == set()
    for clock in ("datetime.now(", "date.today(", "timezone.now("):
        assert clock not in source


def test_the_web_never_loads_the_pdf_engine_or_scipy():
    code = (
        "import django, sys; django.setup(); "
        "import guiding.urls; from django.urls import get_resolver; get_resolver().url_patterns; "
        "print([m for m in ('weasyprint', 'scipy') if m in sys.modules])"
    )

    loaded = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=HOUSE,
        env={"PATH": os.environ["PATH"], "DJANGO_SETTINGS_MODULE": "tests.settings"},
    )

    assert loaded.stdout.strip() == "[]"
