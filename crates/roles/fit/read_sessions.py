"""Figures of all tracks of demo sessions.

    read_sessions.py BINARY CUPEL OUT.npz FIRST_SEED SEEDS_A_STYLE

BINARY is the built example `timbre_features`, CUPEL the command line. Each
session is made in a temporary folder and deleted."""
import json, os, shutil, subprocess, sys, tempfile
import numpy as np
import soundfile as sf
from make_tracks import Figures

STYLES = "house deep techno trance breaks dnb downtempo garage".split()
# words of truth.json in those of Cupel's list
WORDS = {"toms": "tom", "vocal": "voice", "rimshot": "rim"}


def read(folder, figures):
    truth = json.load(open(folder + "/truth.json"))
    for track in truth["tracks"]:
        path = os.path.join(folder, track["file"])
        if not os.path.exists(path):
            path = os.path.join(folder, "tracks", os.path.basename(track["file"]))
        x, rate = sf.read(path, dtype="float32", always_2d=True)
        yield os.path.basename(path), WORDS.get(track["role"], track["role"]), figures.of(x, rate)


def main():
    binary, cupel, out, first, count = *sys.argv[1:4], int(sys.argv[4]), int(sys.argv[5])
    figures = Figures(binary)
    rows, roles, names = [], [], []
    for seed in range(first, first + count):
        for style in STYLES:
            folder = tempfile.mkdtemp()
            try:
                subprocess.run([cupel, "demo", folder, "--seed", str(seed), "--style", style, "--only-make", "--no-mistakes", "--seconds", "45"],
                               check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
                for name, role, row in read(folder, figures):
                    if len(row):
                        rows.append(row)
                        roles.append(role)
                        names.append(f"{style} {seed} {name}")
            finally:
                shutil.rmtree(folder)
        np.savez(out, x=np.array(rows), role=np.array(roles), source=np.array(["demo"] * len(rows)), name=np.array(names), single=np.zeros(len(rows), bool))


if __name__ == "__main__":
    main()
