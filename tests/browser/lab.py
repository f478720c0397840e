"""JupyterLab on the loopback and a headless browser, for tests and benchmarks."""

import contextlib
import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[2]
CHROMIUM = "/usr/bin/chromium"
#: No sandbox: CI runs as root. The rest keeps the browser from calling home.
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
#: A laptop's screen.
VIEW = {"width": 1400, "height": 1000}


def missing() -> str:
    """Say what is missing for a browser test, or nothing."""
    if not Path(CHROMIUM).exists():
        return f"no browser at {CHROMIUM}: apt-get install chromium"
    try:
        import playwright  # noqa: F401
    except ImportError:
        return "playwright is not installed: pip install -e '.[test]'"
    return ""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def server(folder: Path, notebook: Path):
    """Serve a copy of a notebook in `folder`/notebooks and give the address."""
    (folder / "notebooks").mkdir()
    shutil.copy(notebook, folder / "notebooks" / notebook.name)
    config = folder / "config"
    (config / "labconfig").mkdir(parents=True)
    # The extension that asks whether to fetch news from outside.
    (config / "labconfig" / "page_config.json").write_text(
        json.dumps({"disabledExtensions": {"@jupyterlab/apputils-extension:announcements": True}})
    )
    port = free_port()
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH")))),
        "JUPYTER_CONFIG_DIR": str(config),
        "JUPYTER_RUNTIME_DIR": str(folder / "runtime"),
        "HOME": str(folder),
        "OPENBLAS_NUM_THREADS": "1",
        # Where a machine has Node.js, it is started twice, to ask whether the front end could be
        # built anew.
        "PATH": str(Path(sys.executable).parent),
    }
    options = (
        "--no-browser", "--allow-root", "--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0", "--IdentityProvider.token=", "--ServerApp.password=",
        f"--ServerApp.root_dir={folder}", "--LabApp.extension_manager=readonly",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    with (folder / "server.log").open("w") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "thread_repair.report.notebook_format", "jupyterlab", *options],
            env=environment, stdout=log, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            _wait(process, address, folder / "server.log")
            yield address
        finally:
            process.terminate()
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _wait(process: subprocess.Popen, address: str, log: Path) -> None:
    for _ in range(240):
        if process.poll() is not None:
            raise RuntimeError(f"JupyterLab did not start:\n{log.read_text()[-2000:]}")
        with contextlib.suppress(urllib.error.URLError, ConnectionError):
            urllib.request.urlopen(f"{address}/api/status", timeout=5).close()
            return
        time.sleep(0.5)
    raise RuntimeError(f"JupyterLab does not answer:\n{log.read_text()[-2000:]}")


@contextlib.contextmanager
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            yield found
        finally:
            found.close()


def run(page, address: str, notebook: str) -> None:
    """Open a notebook and run all its cells."""
    page.goto(f"{address}/lab/tree/notebooks/{notebook}?reset")
    page.wait_for_selector(".jp-Notebook-cell", timeout=120_000)
    # Before that there is no kernel, and the menu would ask for one.
    page.get_by_text("Python 3 (ipykernel) | Idle").wait_for(timeout=120_000)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_text("Run All Cells", exact=True).click()


def run_all(page, address: str, notebook: str, *, until: str = ".tr-stage svg") -> None:
    """Open a notebook, run all its cells and wait until something stands there."""
    run(page, address, notebook)
    page.wait_for_selector(until, state="attached", timeout=120_000)
    page.locator(until).first.scroll_into_view_if_needed()


def handle(page, label: str):
    """Return the slider with an accessible name."""
    return page.get_by_role("slider", name=label, exact=True)
