"""Whether the file of the records is as it was, told by the disk alone: opening it takes longer than most screens."""

import time
from datetime import date
from pathlib import Path

from analytics.storage.checkpoints import log_of

# Disks note the time of a change in steps of up to two seconds (FAT). A file left alone for longer cannot change again
# under the same time.
LONGEST_STEP_SECONDS = 3.0


def file_mark(path: Path) -> str | None:
    """A text that stays the same as long as nobody saves anything to the records at `path`, nor puts others there.

    It changes with the day, since the first opening of a day makes the backup. None where the disk cannot tell: no
    file, or one that was written to in the last seconds.

    path : with links followed
    """
    marks = []
    for part in (path, log_of(path)):
        try:
            found = part.stat()
        except FileNotFoundError:
            if part == path:
                return None
            marks.append("no log")
            continue
        except OSError:
            return None
        if not time.time() - found.st_mtime > LONGEST_STEP_SECONDS:
            return None
        marks.append(f"{found.st_ino} {found.st_size} {found.st_mtime_ns}")
    return "\n".join((str(path), str(date.today()), *marks))
