"""python -m tests.bench.hindcast: see the package's docstring."""

from argparse import ArgumentParser
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from itertools import product
from pathlib import Path
from time import perf_counter

from tests.bench.hindcast.climates import Climate, climates
from tests.bench.hindcast.garage import VARIANTS, Variant
from tests.bench.hindcast.heat import Miss, heat_rows, heat_table
from tests.bench.hindcast.run import Year, year
from tests.bench.hindcast.table import report

HALVES = {"choose": 0, "report": 1}


def main(argv: Sequence[str] | None = None) -> None:
    """Prints the table; draws the picture if asked."""
    parser = ArgumentParser(prog="python -m tests.bench.hindcast", description="predictions on real weather")
    parser.add_argument("--half", choices=HALVES, default="report", help="which days (default: those not chosen by)")
    parser.add_argument("--seed", type=int, default=1, help="of pour hours and typed errors (default 1)")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="draw the picture there")
    parser.add_argument("--jobs", type=int, default=2, metavar="N", help="processes (default 2)")
    args = parser.parse_args(argv)
    started = perf_counter()
    found, absent = climates()
    jobs = list(product(found, VARIANTS, [HALVES[args.half]], [args.seed]))
    with ProcessPoolExecutor(args.jobs) as pool:
        years = list(pool.map(_year, jobs))
        misses = [miss for each in pool.map(_heat, product(found, [HALVES[args.half]], [args.seed])) for miss in each]
    print(report(found, years, half=args.half, seed=args.seed))
    print("\nOnly the air measured, unheated garages, at the pour: said less true, hours")
    print("\n".join(heat_table(misses)))
    print("\n".join(absent))
    if args.svg is not None:
        from tests.bench.hindcast.picture import picture

        args.svg.write_text(picture(years, seed=args.seed), encoding="utf-8")
    print(f"{sum(len(each.cases) for each in years)} pours, {perf_counter() - started:.0f} s")


def _year(job: tuple[Climate, Variant, int, int]) -> Year:
    return year(*job)


def _heat(job: tuple[Climate, int, int]) -> list[Miss]:
    return heat_rows(*job)


if __name__ == "__main__":
    main()
