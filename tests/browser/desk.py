"""The workbook as a page of its own, served by the command on the loopback."""

import contextlib
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import lab


@contextlib.contextmanager
def served(folder: Path, *case: str):
    """Open the workbook by its command in a folder and give the address."""
    environment = {
        **os.environ, "PYTHONPATH": str(lab.ROOT), "HOME": str(folder),
        "OPENBLAS_NUM_THREADS": "1",
    }  # fmt: skip
    log = folder / "desk.log"
    with log.open("w") as stream:
        process = subprocess.Popen(
            [sys.executable, "-m", "thread_repair", "workbook", "--no-browser",
             f"--port={lab.free_port()}", *case],
            env=environment, cwd=folder, stdout=stream, stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            yield _address(process, log)
        finally:
            process.terminate()
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def _address(process, log: Path) -> str:
    for _ in range(240):
        found = re.search(r"http://\S+token=\w+", log.read_text())
        if found:
            return found[0]
        if process.poll() is not None:
            break
        time.sleep(0.25)
    raise RuntimeError(f"the workbook was not served:\n{log.read_text()[-2000:]}")


def opened(browser, address: str, *, width: int = 1400, height: int = 1100, theme: str = "light"):
    """Return a page with the workbook, and the requests and complaints that it makes."""
    page = browser.new_page(viewport={"width": width, "height": height})
    page.asked, page.complaints = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("websocket", lambda socket: page.asked.append(socket.url))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on(
        "console",
        lambda message: page.complaints.append(message.text) if message.type == "error" else None,
    )
    page.goto(address + ("&theme=dark" if theme == "dark" else ""), timeout=120_000)
    page.wait_for_selector(".tr-answer", timeout=120_000)
    return page
