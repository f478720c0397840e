"""Whether a folder holds complete reports, by its manifest and the bytes that stand there."""

import hashlib
import json

from thread_repair.report.publish import JOURNAL, MANIFEST


def is_whole(folder):
    if not (folder / MANIFEST).is_file() or (folder / JOURNAL / MANIFEST).exists():
        return False
    files = json.loads((folder / MANIFEST).read_text())["files"]
    return bool(files) and all(
        (folder / name).is_file()
        and hashlib.sha256((folder / name).read_bytes()).hexdigest() == entry["sha256"]
        for name, entry in files.items()
    )
