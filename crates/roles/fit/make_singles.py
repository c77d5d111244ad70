"""Every recorded sound as a file of its own: as it is, and dressed a few times.

    make_singles.py BINARY OUT.npz SEED DRESSED

The sources are named by library, so that fit.py can leave a whole one out: the
drums and tones of two more sound fonts come in here (opl3-soundfont, a synthesis
by frequency modulation, and every drum kit of timgm6mb-soundfont). `singles.bin`
was fitted on seed 5 (dressed 3 times, 2600 of the sounds) and 6 (once)."""
import sys
import numpy as np
import libraries as lib
from make_tracks import GM_DRUMS, KIT_DRUMS, PROGRAMS, STRUCK, Figures, Maker
from synthesis import SR, lu, norm

OPL = "/usr/share/sounds/sf2/OPL-3_FM_128M.sf2"
PEARL = "/usr/share/sounds/sf2/Black_Pearl_4_LV2.sf2"
# kits of one maker, or of one engine, are one library
ONE = {"Millo": "millo", "ds ": "presets", "The Black Pearl": "pearl", "font2": "rock", "font0": "tim", "font1": "csound",
       "ElectricEmpireKit": "electro", "HardElectro1": "electro", "TR": "electro", "Audiophob": "electro", "VariBreaks": "electro",
       "drums": "samples", "misc": "samples", "effects": "samples", "basses": "samples", "stringsnpads": "samples"}


def library(name):
    return next((whole for start, whole in ONE.items() if name.startswith(start)), name)


def cut(x, starts, seconds):
    """The sounds that start at the times given, without the silence around them."""
    for start in starts:
        part = x[int(start * SR):int((start + seconds) * SR)]
        top = np.abs(part).max() if len(part) else 0
        if top < .003:
            yield None
            continue
        part = norm(part[max(np.argmax(np.abs(part) > .01 * top) - 40, 0):])
        yield part[:len(part) - np.argmax(np.abs(part[::-1]) > 1e-3)]


def more_drums():
    jobs = [(OPL, program, GM_DRUMS, "opl") for program in (0, 8, 16, 24, 25, 32, 40)] + [(lib.FONTS[0], program, GM_DRUMS, "tim") for program in (8, 16, 32, 48)]
    jobs += [(PEARL, 0, KIT_DRUMS, "pearl"), (lib.FONTS[1], 25, GM_DRUMS, "csound")]
    seen = set()
    for font, program, table, name in jobs:
        keys = [(role, key) for role, keys in table.items() for key in keys]
        lib.FONTS.append(font)
        x = lib.play(len(lib.FONTS) - 1, program, [(i * 3.0, 2.4, key, 110) for i, (_, key) in enumerate(keys)], True).mean(1)
        lib.FONTS.pop()
        for (role, key), sound in zip(keys, cut(x, [i * 3.0 for i in range(len(keys))], 2.9)):
            if sound is not None and sound[:2000].tobytes() not in seen:
                seen.add(sound[:2000].tobytes())
                yield role, name, sound


def tones(r):
    """Single notes, and chords where the role plays them."""
    for font, name in ((lib.FONTS[0], "tim"), (lib.FONTS[1], "csound"), (OPL, "opl")):
        lib.FONTS.append(font)
        for role, programs in {**PROGRAMS, **STRUCK}.items():
            for program in programs:
                low, high = {"bass": (28, 50), "pluck": (55, 90), "lead": (55, 86)}.get(role, (43, 76))
                notes, starts = [], []
                for i in range(4):
                    key = int(r.integers(low, high))
                    chord = [key] + ([key + 3 + int(r.integers(2)), key + 7] if role in ("chords", "pad", "guitar", "strings", "piano") and r.random() < .5 else [])
                    starts.append(i * 4.0)
                    notes += [(i * 4.0, lu(r, .15, 3), k, int(r.integers(70, 120))) for k in chord]
                x = lib.play(len(lib.FONTS) - 1, program, notes).mean(1)
                for sound in cut(x, starts, 3.9):
                    if sound is not None:
                        yield role, name, sound
        lib.FONTS.pop()


def main():
    binary, out, seed, dressed = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    maker, figures = Maker(seed), Figures(binary)
    r = maker.r
    sounds = [(role, library(name), x) for role, libs in maker.shots.items() for name, xs in libs.items() for x in xs]
    sounds += list(more_drums()) + list(tones(r))
    for role, programs in PROGRAMS.items():
        sounds += [(role, "patches", x) for program in programs for _, x in maker.patches.get(program, [])]
    sounds = [sounds[i] for i in r.permutation(len(sounds))]
    rows, labels, sources = [], [], []
    for index, (role, name, x) in enumerate(sounds):
        for turn in range(1 + dressed):
            y = x[:, None]
            if turn:
                p = lu(r, 1 / 1.3, 1.3)
                n = int(len(x) / p)
                y = maker.wear(maker.dress(np.interp(np.arange(n) * p, np.arange(len(x)), x), role, True), role)
            row = figures.of(y, SR)
            if len(row):
                rows.append(row)
                labels.append(role)
                sources.append(name)
        if index % 200 == 199 or index == len(sounds) - 1:
            np.savez(out, x=np.array(rows), role=np.array(labels), source=np.array(sources), single=np.ones(len(rows), bool))
    print(len(sounds), "sounds")


if __name__ == "__main__":
    main()
