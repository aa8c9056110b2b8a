"""Runs a study file on the cheap model: python sweep_cheap.py STUDY FOLDER PAUSE WORKERS (a child to kill)."""

import sys

if __name__ == "__main__":
    from cheap import maker

    from studies import load_study, run

    file, folder, pause, workers = sys.argv[1:]
    print(run(load_study(file, maker(pause=float(pause))), folder, workers=int(workers)).done)
