"""Second generator of pieces with known layers: other sounds and patterns than the demo's.

Usage: second_generator.py OUT FIRST LAST
"""

import sys, json, os
import numpy as np, soundfile as sf
from scipy.signal import butter, sosfilt, fftconvolve

SR = 48000


def bp(x, lo, hi, order=2):
    sos = butter(order, [lo / (SR / 2), min(hi, SR * 0.49) / (SR / 2)], "band", output="sos")
    return sosfilt(sos, x)


def lp(x, f, order=2):
    return sosfilt(butter(order, min(f, SR * 0.49) / (SR / 2), "low", output="sos"), x)


def hp(x, f, order=2):
    return sosfilt(butter(order, f / (SR / 2), "high", output="sos"), x)


def env(n, a, d):
    t = np.arange(n) / SR
    return np.minimum(1, t / a) * np.exp(-t / d)


def kick(r):
    n = int(0.5 * SR)
    t = np.arange(n) / SR
    f0 = r.uniform(40, 62)
    f1 = r.uniform(120, 400)
    tau = r.uniform(0.015, 0.05)
    ph = 2 * np.pi * (f0 * t + (f1 - f0) * tau * (1 - np.exp(-t / tau)))
    x = np.sin(ph) * env(n, 0.001, r.uniform(0.06, 0.2))
    x = np.tanh(r.uniform(1, 3) * x)
    x += r.uniform(0, 0.3) * hp(r.standard_normal(n), 2000) * env(n, 0.0003, 0.004)
    return x


def snare(r):
    n = int(0.4 * SR)
    t = np.arange(n) / SR
    f = r.uniform(160, 260)
    return r.uniform(0.2, 1) * np.sin(2 * np.pi * f * t) * env(n, 0.001, 0.05) + r.uniform(
        0.3, 1
    ) * bp(r.standard_normal(n), r.uniform(700, 2000), r.uniform(5000, 10000)) * env(
        n, 0.001, r.uniform(0.04, 0.13)
    )


def clap(r):
    n = int(0.4 * SR)
    x = bp(r.standard_normal(n), r.uniform(600, 1200), r.uniform(2000, 4500))
    e = np.zeros(n)
    for k in range(4):
        o = int(k * r.uniform(0.008, 0.012) * SR)
        m = n - o
        e[o:] += env(m, 0.0005, 0.006 if k < 3 else r.uniform(0.05, 0.12))
    return x * e


def rim(r):
    n = int(0.12 * SR)
    t = np.arange(n) / SR
    f = r.uniform(400, 1800)
    return (
        np.sin(2 * np.pi * f * t) + 0.6 * np.sin(2 * np.pi * f * r.uniform(1.5, 2.9) * t)
    ) * env(n, 0.0005, r.uniform(0.01, 0.035))


def conga(r):
    n = int(0.4 * SR)
    t = np.arange(n) / SR
    f = r.uniform(150, 420)
    return (
        np.sin(2 * np.pi * (f * t + 0.15 * f * 0.02 * (1 - np.exp(-t / 0.02))))
        * env(n, 0.001, r.uniform(0.05, 0.14))
        + 0.1 * rim(r)[0] * 0
    )


def metal(r, n):
    t = np.arange(n) / SR
    x = 0
    for k in range(6):
        x = x + np.sign(np.sin(2 * np.pi * r.uniform(2000, 9000) * t + r.uniform(0, 6)))
    return x / 6


def hat(r):
    n = int(0.2 * SR)
    return hp(
        (metal(r, n) * r.uniform(0, 1) + r.standard_normal(n) * r.uniform(0.1, 0.6)),
        r.uniform(5000, 9000),
        3,
    ) * env(n, 0.0005, r.uniform(0.015, 0.04))


def ohat(r):
    n = int(0.6 * SR)
    return hp(
        (metal(r, n) * r.uniform(0.2, 1) + r.standard_normal(n) * r.uniform(0.1, 0.4)),
        r.uniform(4500, 8000),
        3,
    ) * env(n, 0.001, r.uniform(0.08, 0.22))


def shaker(r):
    n = int(0.15 * SR)
    a = r.uniform(0.008, 0.03)
    t = np.arange(n) / SR
    return (
        bp(r.standard_normal(n), r.uniform(3500, 6000), r.uniform(9000, 15000))
        * np.minimum(1, (t / a)) ** 2
        * np.exp(-np.maximum(0, t - a) / r.uniform(0.015, 0.04))
    )


TC = {}


def tone(r, f, dur, kind, bright, a, rel):
    key = (round(f, 4), round(dur, 4), kind, bright, a, rel)
    if key not in TC:
        TC[key] = tone_(f, dur, kind, bright, a, rel)
    return TC[key]


def tone_(f, dur, kind, bright, a, rel):
    n = int((dur + rel * 4) * SR)
    t = np.arange(n) / SR
    x = np.zeros(n)
    for h in range(1, 40):
        if f * h > 14000 or h * f / bright > 8:
            break
        g = {
            "saw": 1 / h,
            "sq": (h % 2) / h,
            "sine": 1.0 * (h == 1) + 0.2 * (h == 2) / 2,
            "organ": (h in (1, 2, 3, 4, 6, 8)) / h**0.7,
            "fm": 1 / h**1.3 * (1 + 0.5 * np.sin(h)),
        }[kind]
        if g:
            x += g * np.sin(2 * np.pi * f * h * t + h * 1.7) * np.exp(-h * f / bright)
    e = np.minimum(1, t / a) * np.where(t < dur, 1, np.exp(-np.maximum(t - dur, 0) / rel))
    return x * e


def reverb(x, r, rt, amt):
    n = int(rt * SR)
    out = np.stack([x, x]) if x.ndim == 1 else x.copy()
    irs = [lp(r.standard_normal(n), 5000) * np.exp(-6.9 * np.arange(n) / n) for _ in range(2)]
    for c in range(2):
        ir = irs[c] / np.sqrt((irs[c] ** 2).sum())
        w = fftconvolve(out[c], ir)[: out.shape[1]]
        out[c] = out[c] + amt * w
    return out


def pan(x, p):
    th = (p + 1) * np.pi / 4
    return np.stack([np.cos(th) * x, np.sin(th) * x]) * np.sqrt(2)


def pat(r, S, opts):
    return opts[r.integers(len(opts))]


def make(seed, out):
    TC.clear()
    r = np.random.default_rng(seed)
    bpm = r.uniform(80, 176)
    bars = r.choice([8, 16], p=[0.3, 0.7])
    S = 16
    beat = 60 / bpm
    bar = 4 * beat
    swing = r.choice([0.5, 0.5, r.uniform(0.52, 0.62)])
    start = float(r.uniform(0.05, 1.0))
    n = int((start + bars * bar + 0.5) * SR)

    def at(b, s):
        return start + b * bar + ((s // 2) + (swing if s % 2 else 0)) * bar / 8

    kickp = pat(
        r,
        S,
        [
            [0, 4, 8, 12],
            [0, 4, 8, 12],
            [0, 7, 10],
            [0, 10],
            [0, 3, 6, 10],
            [0, 8, 11],
            [0, 6, 8, 14],
        ],
    )
    four = kickp == [0, 4, 8, 12]
    backp = pat(r, S, [[4, 12], [4, 12], [8], [4, 12, 15]])
    root = float(r.uniform(41, 58))
    scale = [0, 2, 3, 5, 7, 8, 10]
    prog = [int(r.choice(scale)) for _ in range(4)]
    prog[0] = 0
    kt = [at(b, s) for b in range(bars) for s in kickp]
    duck = r.uniform(0, 8) if r.random() < 0.7 else 0
    t = np.arange(n) / SR
    g = np.ones(n)
    for k in kt:
        i = int(k * SR)
        m = min(n - i, int(0.35 * SR))
        g[i : i + m] = np.minimum(
            g[i : i + m], 1 - (1 - 10 ** (-duck / 20)) * np.exp(-np.arange(m) / SR / 0.09)
        )
    tracks = []

    def put(buf, x, tm):
        i = int(round(tm * SR))
        m = min(x.shape[-1], buf.shape[-1] - i)
        if m > 0:
            buf[..., i : i + m] += x[..., :m]

    def drum(name, role, fn, places, vel, p=0.0, rv=0, prob=1, pb=1):
        buf = np.zeros(n)
        s0 = int(r.integers(1 << 30))
        jit = r.uniform(0, 0.0025)
        for b in range(bars):
            for pl in places:
                if pb > 1 and b % pb != pl // S:
                    continue
                if r.random() > prob:
                    continue
                x = fn(np.random.default_rng(s0)) * vel(pl % S) * (1 + 0.06 * r.standard_normal())
                put(buf, x, at(b, pl % S) + jit * abs(r.standard_normal()))
        st = pan(buf, p)
        if rv:
            st = reverb(st, r, r.uniform(0.3, 1.0), rv)
        tracks.append((name, role, st))

    one = lambda s: 1.0
    drum("kick", "kick", kick, kickp, one)
    if r.random() < 0.9:
        drum(
            "back",
            *(("snare", snare) if r.random() < 0.5 else ("clap", clap)),
            backp,
            one,
            0,
            r.uniform(0, 0.4),
        )
    if r.random() < 0.75:
        hp_ = pat(
            r,
            S,
            [
                list(range(0, 16, 2)),
                list(range(16)),
                [2, 6, 10, 14],
                [0, 2, 3, 6, 7, 8, 10, 11, 14, 15],
                [0, 3, 4, 6, 8, 10, 12, 14],
            ],
        )
        drum(
            "hat",
            "closed hat",
            hat,
            hp_,
            lambda s: [1, 0.5, 0.8, 0.45][s % 4],
            r.choice([0, r.uniform(-0.5, 0.5)]),
        )
    if r.random() < 0.6:
        drum(
            "ohat",
            "open hat",
            ohat,
            pat(r, S, [[2, 6, 10, 14], [2, 6, 10, 14], [6, 14], [10], [14]]),
            one,
            r.choice([0, r.uniform(-0.4, 0.4)]),
        )
    if r.random() < 0.55:
        drum(
            "shk",
            "shaker",
            shaker,
            list(range(16)),
            lambda s: [0.6, 0.4, 1, 0.45][s % 4],
            r.choice([-1, 1]) * r.uniform(0.1, 0.7),
            0,
            r.choice([1, 0.9]),
        )
    if r.random() < 0.5:
        ps = sorted(r.choice(16, int(r.integers(2, 5)), replace=False).tolist())
        drum("rim", "rim", rim, ps, one, r.uniform(-0.6, 0.6))
    if r.random() < 0.5:
        ps = sorted(r.choice(32, int(r.integers(2, 6)), replace=False).tolist())
        drum("conga", "percussion", conga, ps, one, r.uniform(-0.6, 0.6), 0.1, 1, 2)

    def mel(
        name,
        role,
        places,
        note,
        dur,
        kind,
        bright,
        a,
        rel,
        poly=False,
        p=0,
        rv=0.0,
        wide=0,
        ducked=True,
        pb=1,
    ):
        st = np.zeros((2, n))
        for b in range(bars):
            for j, pl in enumerate(places):
                if pb > 1 and b % pb != pl // S:
                    continue
                for m in np.atleast_1d(note(b, j)):
                    f = 440 * 2 ** ((m - 69) / 12)
                    d = dur if np.isscalar(dur) else dur[j]
                    for c, det in ((0, -wide), (1, wide)) if wide else ((2, 0),):
                        x = tone(r, f * 2 ** (det / 1200), d * 0.95, kind, bright, a, rel)
                        if c == 2:
                            put(st, np.stack([x, x]), at(b, pl % S))
                        else:
                            put(st[c], x, at(b, pl % S))
        if p:
            st = pan(st.mean(0), p)
        if ducked and duck:
            st = st * g
        if rv:
            st = reverb(st, r, r.uniform(0.6, 2.0), rv)
        tracks.append((name, role, st))

    s16 = bar / 16
    bassn = 33 + (root - 41) % 12
    bp_ = pat(
        r,
        S,
        [
            [2, 6, 10, 14],
            [0, 3, 6, 8, 11, 14],
            [2, 3, 6, 7, 10, 11, 14, 15],
            [0, 6, 8, 14],
            [0, 10],
            [3, 15],
            [0],
            [1, 2, 3, 5, 6, 7, 9, 10, 11, 13, 14, 15],
        ],
    )
    L = [
        ((bp_[(j + 1) % len(bp_)] - bp_[j]) % 16 or 16) * s16 * r.uniform(0.5, 0.98)
        for j in range(len(bp_))
    ]
    if r.random() < 0.95:
        off = [int(r.choice([0, 0, 0, 7, 12, -5])) for _ in bp_]
        mel(
            "bass",
            "bass",
            bp_,
            lambda b, j: bassn + prog[b % 4] + off[j],
            L,
            r.choice(["saw", "sq", "sine", "fm"]),
            r.uniform(150, 900),
            0.004,
            0.02,
        )
    if r.random() < 0.75:
        ch = (
            r.choice(
                [[0, 3, 7], [0, 3, 7, 10], [0, 7, 14]],
            )
            if False
            else [[0, 3, 7], [0, 3, 7, 10], [0, 7, 12]][r.integers(3)]
        )
        mel(
            "pad",
            "pad",
            [0],
            lambda b, j: [bassn + 24 + prog[b % 4] + c for c in ch],
            bar,
            r.choice(["saw", "organ"]),
            r.uniform(600, 3000),
            0.15,
            0.25,
            True,
            0,
            r.uniform(0, 0.6),
            r.uniform(4, 14),
        )
    if r.random() < 0.5:
        cp = pat(r, S, [[3, 6, 11, 14], [0, 3, 6], [2, 10], [0, 6, 12], [7, 15], [2, 5, 8]])
        mel(
            "stab",
            "chords",
            cp,
            lambda b, j: [bassn + 24 + prog[b % 4] + c for c in (0, 3, 7)],
            s16 * r.uniform(0.6, 1.5),
            r.choice(["saw", "organ", "sq"]),
            r.uniform(800, 3500),
            0.003,
            0.05,
            True,
            r.choice([0, r.uniform(-0.4, 0.4)]),
            r.uniform(0, 0.3),
        )
    if r.random() < 0.6:
        lpz = sorted(r.choice(32, int(r.integers(4, 12)), replace=False).tolist())
        nn = [int(r.choice(scale)) for _ in lpz]
        mel(
            "lead",
            "lead",
            lpz,
            lambda b, j: bassn + 36 + prog[b % 4] * 0 + nn[j],
            s16 * r.uniform(0.7, 2.5),
            r.choice(["saw", "sq", "fm"]),
            r.uniform(1500, 6000),
            0.005,
            0.08,
            False,
            0,
            r.uniform(0, 0.5),
            0,
            False,
            2,
        )
    if r.random() < 0.35:
        arp = [0, 3, 7, 12, 15, 12, 7, 3]
        mel(
            "arp",
            "pluck",
            list(range(0, 16, 1 + int(r.integers(2)))),
            lambda b, j: bassn + 36 + prog[b % 4] + arp[j % 8],
            s16 * 0.5,
            "saw",
            r.uniform(1500, 5000),
            0.002,
            0.04,
            False,
            r.choice([0, r.uniform(-0.5, 0.5)]),
            r.uniform(0, 0.4),
            0,
            False,
        )
    # voice: formant noise+harmonics, phrases
    if r.random() < 0.4:
        st = np.zeros(n)
        phrase = [[0, 2, 3, 6, 8], [4, 7, 8, 12], [0, 3, 8, 14], [2, 6, 7, 12]]
        for b in range(bars):
            if b % 4 == 3 and r.random() < 0.6:
                continue
            for s in phrase[int(r.integers(4))]:
                f = 440 * 2 ** ((bassn + 24 + int(r.choice(scale)) - 69) / 12)
                x = tone(r, f, s16 * r.uniform(1, 3), "saw", 2500, 0.03, 0.05)
                x = (
                    bp(x, 500 * r.uniform(0.6, 1.4), 1200 * r.uniform(0.8, 1.3))
                    + 0.5 * bp(x, 2000, 3200)
                    + 0.02
                    * hp(r.standard_normal(len(x)), 5000)
                    * np.exp(-np.arange(len(x)) / SR / 0.03)
                    * 4
                )
                put(st, x, at(b, s) + r.uniform(-0.01, 0.02))
        tracks.append(("vox", "voice", reverb(pan(st, 0), r, r.uniform(0.5, 1.8), 0.3)))
    base = {
        "kick": 0,
        "snare": -5,
        "clap": -6,
        "closed hat": -14,
        "open hat": -13,
        "shaker": -16,
        "rim": -12,
        "percussion": -10,
        "bass": -3,
        "pad": -9,
        "chords": -8,
        "lead": -7,
        "pluck": -11,
        "voice": -4,
    }
    d = os.path.join(out, f"py{seed}")
    os.makedirs(d, exist_ok=True)
    tr = []
    for i, (name, role, st) in enumerate(tracks):
        k = hp(st, 60, 1)
        rms = np.sqrt((k**2).mean()) + 1e-9
        x = st / rms * 10 ** ((base[role] + 3 * r.standard_normal() - 24) / 20)
        fn = f"{i:02d} {name}.wav"
        sf.write(os.path.join(d, fn), np.clip(x, -4, 4).T.astype(np.float32), SR, subtype="FLOAT")
        tr.append({"file": fn, "role": role})
    json.dump(
        {
            "sample_rate_hz": SR,
            "tempo_bpm": bpm,
            "beats_per_bar": 4,
            "swing": float(swing),
            "hot": bool(seed % 2),
            "sections": [
                {"name": "drop", "start_s": start, "end_s": start + bars * bar, "busiest": True}
            ],
            "tracks": tr,
        },
        open(os.path.join(d, "truth.json"), "w"),
    )


for s in range(int(sys.argv[2]), int(sys.argv[3]) + 1):
    make(s, sys.argv[1])
