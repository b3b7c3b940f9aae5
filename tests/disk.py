"""A small disk that fills up for real, where one may be mounted; elsewhere the test is passed over."""

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

__all__ = ["mounted"]

MOUNT, UMOUNT = "/bin/mount", "/bin/umount"


@contextmanager
def mounted(place: Path, size: str, instead: str) -> Iterator[Path]:
    """An empty disk of that size at `place`, for as long as the block lasts. `instead`: what stands for it where none
    may be mounted."""
    if not Path(MOUNT).exists():
        pytest.skip(f"no mount here; {instead}")
    place.mkdir()
    made = subprocess.run(
        [MOUNT, "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(place)], capture_output=True, check=False
    )
    if made.returncode:
        pytest.skip(f"no right to mount a small disk here; {instead}")
    try:
        yield place
    finally:
        subprocess.run([UMOUNT, str(place)], check=True)
