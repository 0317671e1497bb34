"""Many backups without the work of making each."""

import shutil
from datetime import timedelta

from analytics.storage.backups import NAME_FORM, Backup


def followed_by(first: Backup, more: int) -> list[Backup]:
    """So many newer backups, each a copy of `first` under a name of its own, a second after the one before."""
    made = []
    for later in range(1, more + 1):
        made_at, number = first.made_at + timedelta(seconds=later), first.number + later
        path = first.path.with_name(f"{made_at:{NAME_FORM}}_{first.reason.replace(' ', '-')}_{number:06}.duckdb")
        shutil.copy(first.path, path)
        made.append(Backup(path=path, made_at=made_at, reason=first.reason, number=number))
    return made
