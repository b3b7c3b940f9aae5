"""What becomes of a fault of the program where no log is open: a process of its own, since pytest opens one."""

import subprocess
import sys

FAILS = """
from curetrack.shop.planner import log_fault
try:
    1 / 0
except ZeroDivisionError as error:
    log_fault("the plan failed", error)
"""


def test_without_a_log_it_is_one_line_with_its_place_and_no_trace() -> None:
    said = subprocess.run([sys.executable, "-c", FAILS], capture_output=True, text=True, timeout=60, check=True)
    assert said.stderr == "curetrack: the plan failed (ZeroDivisionError: division by zero; <string>, line 4)\n"
