"""`python -m tests.verification_mutations [--write] [--only NAME]`: break laws one at a time, see which test notices.

Exit code 0 when at least 95 % are killed and every survivor is explained, 1 when not, 2 when a mutation no longer fits
its file.
"""

import argparse
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue

from .bench import NO_ANSWER, Bench, Verdict
from .mutation import Mutation
from .mutations import MUTATIONS
from .page import WANTED, share, short, write


def arguments() -> argparse.Namespace:
    """What was asked for on the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.verification_mutations", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the outcome into docs/explanation/mutations.md")
    parser.add_argument("--only", nargs="+", metavar="NAME", help="these mutations, or all with that in name or file")
    parser.add_argument("--workers", type=int, default=1, help="mutations tried at the same time, each in a copy")
    return parser.parse_args()


def chosen(words: list[str] | None) -> list[Mutation]:
    """The mutations of those names, or with those words in their names or files; all without any."""
    if not words:
        return list(MUTATIONS)
    names = {one.name for one in MUTATIONS}
    loose = [word for word in words if word not in names]
    return [one for one in MUTATIONS if one.name in words or any(w in one.name or w in one.file for w in loose)]


def run(mutations: list[Mutation], workers: int, folder: Path) -> list[Verdict]:
    """Try every mutation, in order; each worker in a copy of its own. First all on the plain tests, then what is left
    on the compiled ones. At the end every test that failed must pass on the sound tree."""
    benches: SimpleQueue[Bench] = SimpleQueue()
    made = [Bench(folder / str(k)) for k in range(workers)]
    for bench in made:
        benches.put(bench)
    if made[0].tree.resolve() not in made[0].where_sim1d_comes_from().resolve().parents:
        raise SystemExit("the tests would import another sim1d than the copy: nothing would be tested")
    killers: dict[str, str] = {}

    def one(mutation: Mutation, uncompiled: bool) -> None:
        bench = benches.get()
        begun = time.monotonic()
        try:
            killer = bench.seen(mutation, uncompiled)
        finally:
            benches.put(bench)
        if killer:
            killers[mutation.name] = killer
        outcome = f"killed by {short(killer)}" if killer else "not seen yet" if uncompiled else "SURVIVED"
        print(f"{time.monotonic() - begun:6.1f} s  {mutation.name}: {outcome}", flush=True)

    for uncompiled in (True, False):
        left = [mutation for mutation in mutations if mutation.name not in killers]
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(one, left, [uncompiled] * len(left)))
        used = {killers[mutation.name] for mutation in left if mutation.name in killers} - {NO_ANSWER}
        if sick := made[0].failure(sorted(used), uncompiled, made[0].cache) if used else "":
            raise SystemExit(f"{sick} fails although nothing is broken: it kills every mutation; mend it first")
    for bench in made:
        bench.close()
    return [Verdict(mutation, killers.get(mutation.name, "")) for mutation in mutations]


def main() -> int:
    """Run what was asked for and say the share killed."""
    asked = arguments()
    mutations = chosen(asked.only)
    if not mutations:
        print("no mutation has that name")
        return 2
    misfits = [misfit for one in mutations if (misfit := one.misfit())]
    if misfits:
        print("\n".join(misfits))
        print(f"{len(misfits)} of {len(mutations)} mutations no longer fit their files: bring them up to date first")
        return 2
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        verdicts = run(mutations, asked.workers, Path(folder))
    unexplained = [one.mutation.name for one in verdicts if not one.killed and not one.mutation.survives]
    seen_after_all = [one.mutation.name for one in verdicts if one.killed and one.mutation.survives]
    minutes = (time.monotonic() - begun) / 60.0
    print(f"{sum(one.killed for one in verdicts)} of {len(verdicts)} killed, {share(verdicts):.1%}, {minutes:.0f} min")
    for name in unexplained:
        print(f"survived without an explanation: {name}")
    for name in seen_after_all:
        print(f"said to survive, but killed: {name}")
    if asked.write:
        print(f"written: {write(verdicts)}")
    return 0 if share(verdicts) >= WANTED and not unexplained and not seen_after_all else 1


if __name__ == "__main__":
    sys.exit(main())
