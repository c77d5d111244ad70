"""Second generator of pieces with known key, tuning, bass notes and kick: sounds unlike the demo's."""

import numpy as np, soundfile as sf, json, os, sys

SR = 22050
MAJ = [0, 2, 4, 5, 7, 9, 11]
NAT = [0, 2, 3, 5, 7, 8, 10]
DOR = [0, 2, 3, 5, 7, 9, 10]
HAR = [0, 2, 3, 5, 7, 8, 11]
PHR = [0, 1, 3, 5, 7, 8, 10]
MIX = [0, 2, 4, 5, 7, 9, 10]
NAMES = "C C# D D# E F F# G G# A A# B".split()
LOOPS_MIN = [
    [0],
    [0],
    [0, 0, 0, 6],
    [0, 5],
    [0, 3],
    [0, 6],
    [0, 5, 2, 6],
    [0, 3, 6, 2],
    [0, 6, 5, 6],
    [5, 6, 0, 0],
    [0, 3, 5, 4],
    [3, 5, 0, 6],
    [0, 2, 6, 3],
    [5, 3, 0, 4],
    [0, 4, 5, 3],
    [0, 0, 3, 3],
    [5, 0, 6, 3],
    [0, 1, 0, 6],
]
LOOPS_MAJ = [
    [0],
    [0, 3],
    [0, 4],
    [0, 4, 5, 3],
    [0, 5, 3, 4],
    [3, 4, 0, 0],
    [0, 3, 4, 3],
    [3, 0, 4, 5],
    [0, 2, 3, 4],
    [1, 4, 0, 0],
    [0, 6, 3, 0],
    [3, 4, 5, 0],
    [0, 3, 1, 4],
    [5, 3, 0, 4],
]


def env(n, a, d, s, r, held):
    t = np.arange(n) / SR
    e = np.minimum(t / a, 1.0) * (s + (1 - s) * np.exp(-t / d))
    rel = np.clip((held - t) / r + 1, 0, 1)
    return e * rel**2


def tone(kind, hz, n, rng, p):
    t = np.arange(n) / SR
    top = int(min(40, 9000 / hz))
    if top < 1:
        top = 1
    out = np.zeros(n)
    if kind == "fm":
        r, idx, dec = p
        return np.sin(2 * np.pi * hz * t + idx * np.exp(-t / dec) * np.sin(2 * np.pi * hz * r * t))
    if kind == "sine":
        return np.sin(2 * np.pi * hz * t) + p * np.sin(4 * np.pi * hz * t)
    if kind == "organ":
        for h, a in zip([1, 2, 3, 4, 6, 8], p):
            out += a * np.sin(2 * np.pi * hz * h * t + h)
        return out
    if kind == "pluck":
        for h in range(1, min(top, 16) + 1):
            out += (
                np.sin(2 * np.pi * hz * h * np.sqrt(1 + p[1] * h * h) * t + h * h)
                / h ** p[0]
                * np.exp(-t * (2 + h * 1.2))
            )
        return out
    cut, odd, det, fall = p
    for v, dc in enumerate(det):
        f = hz * 2 ** (dc / 1200)
        ph = rng.random() * 6.28
        for h in range(1, top + 1):
            if odd and h % 2 == 0:
                continue
            c = cut * (1 + fall * np.exp(-t / 0.08)) if fall else cut
            g = 1 / np.sqrt(1 + (h * f / c) ** 6)
            out += g * np.sin(2 * np.pi * f * h * t + ph * h) / h
    return out / len(det) ** 0.5


def voice(rng, role):
    k = rng.choice(
        ["saw", "saw", "saw", "fm", "organ", "pluck", "sine"]
        if role != "bass"
        else ["saw", "saw", "sine", "sine", "fm", "square", "reese"]
    )
    if k in ("saw", "square", "reese"):
        cut = rng.uniform(400, 3500) if role != "bass" else rng.uniform(90, 700)
        det = (
            [0]
            if (role == "bass" and k != "reese") or rng.random() < 0.3
            else (
                list(rng.uniform(-16, 16, 5))
                if role != "bass"
                else [-rng.uniform(4, 12), rng.uniform(4, 12)]
            )
        )
        return ("wave", (cut, k == "square", det, rng.uniform(0, 5) if rng.random() < 0.6 else 0))
    if k == "fm":
        return (
            "fm",
            (
                rng.choice([1, 2, 2, 3]) if role != "bass" else rng.choice([1, 1, 2]),
                rng.uniform(0.3, 3),
                rng.uniform(0.05, 0.6),
            ),
        )
    if k == "organ":
        return ("organ", rng.uniform(0.1, 1, 6))
    if k == "pluck":
        return ("pluck", (rng.uniform(0.8, 1.8), rng.choice([0, 3e-4])))
    return ("sine", rng.uniform(0, 0.4))


def place(buf, at, x):
    i = int(round(at * SR))
    if i < 0:
        x = x[-i:]
        i = 0
    n = min(len(x), len(buf) - i)
    if n > 0:
        buf[i : i + n] += x[:n]


def lp(x, f):
    from scipy.signal import butter, sosfilt

    return sosfilt(butter(2, min(f, SR * 0.49), fs=SR, output="sos"), x)


def bp(x, a, b):
    from scipy.signal import butter, sosfilt

    return sosfilt(butter(2, [a, min(b, SR * 0.49)], "band", fs=SR, output="sos"), x)


def make_kick(rng):
    f1 = rng.uniform(38, 68)
    fall = rng.choice([rng.uniform(40, 120), rng.uniform(120, 400)])
    tau = rng.uniform(0.008, 0.045)
    dec = rng.uniform(0.05, 0.28)
    n = int(0.7 * SR)
    t = np.arange(n) / SR
    shape = rng.choice(["exp", "exp", "two"])
    f = f1 + fall * np.exp(-t / tau)
    if shape == "two":
        f = f + rng.uniform(300, 1500) * np.exp(-t / 0.003)
    x = np.sin(2 * np.pi * np.cumsum(f) / SR + rng.choice([0, 1.57]))
    hold = rng.uniform(0.01, 0.1)
    a = np.exp(-np.maximum(t - hold, 0) / dec)
    x = np.tanh(rng.uniform(0.5, 3) * x * a)
    c = rng.uniform(0.02, 0.5) * rng.standard_normal(n) * np.exp(-t / 0.003)
    x += c - lp(c, 1500)
    x[-2000:] *= np.linspace(1, 0, 2000)
    return x / abs(x).max(), dict(end_hz=f1, start_hz=f1 + fall, tau_s=tau, decay_s=dec)


def piece(seed, secs=36):
    rng = np.random.default_rng(seed)
    tonic = int(rng.integers(12))
    minor = bool(rng.random() < 0.55)
    tun = float(rng.uniform(-50, 50))
    bpm = float(rng.choice([rng.uniform(85, 115), rng.uniform(116, 142), rng.uniform(160, 178)]))
    scale = (
        (NAT if rng.random() < 0.6 else [DOR, HAR, PHR][rng.integers(3)])
        if minor
        else (MAJ if rng.random() < 0.85 else MIX)
    )
    loop = list(
        (LOOPS_MIN if minor else LOOPS_MAJ)[rng.integers(len(LOOPS_MIN if minor else LOOPS_MAJ))]
    )
    beat = 60 / bpm
    six = beat / 4
    bars = max(8, int(secs / (4 * beat)))
    N = int((bars * 4 * beat + 1.5) * SR)
    if seed % 2 == 1 and (700 <= seed < 1000 or seed >= 1100):
        minor = bool(rng.random() < 0.75)
        scale = NAT if minor else MAJ
        T = (
            [
                [0, 5, 2, 6],
                [0, 3, 5, 4],
                [0, 6, 5, 6],
                [0, 0, 5, 6],
                [0, 2, 6, 3],
                [0, 5, 3, 4],
                [0, 3, 0, 6],
                [0, 5, 0, 6],
                [0, 0, 0, 5],
                [0, 6],
            ]
            if minor
            else [
                [0, 4, 5, 3],
                [0, 5, 3, 4],
                [0, 3, 5, 4],
                [0, 2, 3, 4],
                [0, 3, 0, 4],
                [0, 0, 3, 4],
            ]
        )
        loop = list(T[rng.integers(len(T))])
    per = int(rng.choice([1, 1, 2]))
    pentatonic = rng.random() < 0.15
    hz = lambda m: 440 * 2 ** ((m - 69) / 12 + tun / 1200)
    deg = lambda d: tonic + scale[d % 7] + 12 * (d // 7)
    music = np.zeros(N)
    bass = np.zeros(N)
    drums = np.zeros(N)
    kicks = np.zeros(N)
    notes = []
    cache = {}

    def note(v, m, held, a, d, s, r, key):
        k = (key, round(m, 2), round(held, 3))
        if k not in cache:
            n = int((held + r) * SR)
            cache[k] = tone(v[0], hz(m), n, rng, v[1]) * env(n, a, d, s, r, held)
        return cache[k]

    chord_at = lambda bar: loop[(bar // per) % len(loop)]
    layers = [l for l in ["chords", "pad", "lead", "arp"] if rng.random() < 0.6] or [
        rng.choice(["chords", "pad"])
    ]
    if rng.random() < 0.12:
        layers = ["lead"]  # thin: riff and bass only
    start = {l: int(rng.choice([0, 0, 0, 2, 4])) for l in layers + ["bass", "drums"]}
    gains = {l: 10 ** (rng.uniform(-8, 2) / 20) for l in layers}
    planing = rng.random() < 0.07
    for l in layers:
        v = voice(rng, l)
        a = rng.uniform(0.003, 0.01)
        d = rng.uniform(0.08, 0.6)
        s = rng.uniform(0, 0.8)
        r = 0.03
        pat = sorted(rng.choice(16, size=int(rng.integers(2, 7)), replace=False))
        sev = rng.random() < 0.4
        base = int(rng.choice([48, 54, 60]))
        if l == "pad":
            a, d, s, r = 0.15, 1, 0.9, 0.3
        motif = [int(rng.choice([0, 2, 4, 4, 7, 1, 3, 6, 5])) for _ in range(32)]
        mpat = [int(x) for x in np.flatnonzero(rng.random(32) < rng.uniform(0.2, 0.6))]
        inv = int(rng.integers(3))
        buf = np.zeros(N)
        for bar in range(start[l], bars):
            c = chord_at(bar)
            t0 = bar * 4 * beat
            tri = [deg(c + 2 * k) for k in range(4 if sev else 3)]
            if planing:
                tri = [deg(c) + x for x in ([0, 3, 7, 10] if minor else [0, 4, 7, 11])[: len(tri)]]
            tri = [base + (x - base) % 12 for x in tri]
            if l == "pad":
                for m in tri:
                    place(buf, t0, note(v, m, 4 * beat - 0.05, a, d, s, r, l))
            elif l == "chords":
                for st in pat:
                    for m in tri:
                        place(buf, t0 + st * six, note(v, m, six * 1.6, a, d, s, r, l))
            elif l == "arp":
                for st in range(0, 16, 1 if bpm < 140 else 2):
                    m = tri[(st + inv) % len(tri)] + 12 * ((st // len(tri)) % 2)
                    place(buf, t0 + st * six, note(v, m + 12, six * 0.8, a, d, s, r, l))
            else:
                for st in mpat:
                    if st // 16 != bar % 2:
                        continue
                    dd = motif[st]
                    if pentatonic:
                        m = (
                            tonic
                            + ([0, 3, 5, 7, 10, 12, 15] if minor else [0, 2, 4, 7, 9, 12, 14])[
                                dd % 7
                            ]
                        )
                    else:
                        m = (
                            deg((c if rng.random() < 0.0 else 0) + dd)
                            if rng.random() < 0.3
                            else deg(c + dd if dd in (0, 2, 4, 7) else dd)
                        )
                    place(
                        buf,
                        t0 + (st % 16) * six,
                        note(
                            v,
                            60 + (m % 12) + (12 if rng.random() < 0.1 else 0),
                            six * rng.choice([0.9, 1.8]),
                            a,
                            d,
                            s,
                            r,
                            l,
                        ),
                    )
        rms = np.sqrt((buf**2).mean()) + 1e-9
        music += buf / rms * gains[l] * 0.1
    v = voice(rng, "bass")
    sub = rng.random() < 0.3
    low = int(rng.choice([28, 31, 36, 40]))
    pat = [int(x) for x in np.flatnonzero(rng.random(16) < rng.uniform(0.2, 0.75))] or [0]
    if rng.random() < 0.25:
        pat = [0]
    if rng.random() < 0.25:
        pat = [x for x in range(16) if x % 4]
    if rng.random() < 0.15:
        pat = [2, 6, 10, 14]
    mot = [
        float(rng.choice([0, 0, 0, 0, 0, 12, 7, -2 if minor else 5, 3 if minor else 4]))
        for _ in pat
    ]
    gap = rng.uniform(0.6, 0.97)
    hasbass = rng.random() < 0.93
    for bar in range(start["bass"], bars):
        c = chord_at(bar)
        root = low + (deg(c) - low) % 12
        for i, st in enumerate(pat):
            nxt = pat[i + 1] if i + 1 < len(pat) else 16
            if len(pat) == 1:
                held = 4 * beat * 0.95
            else:
                held = min(nxt - st, 4) * six * gap
            m = root + mot[i]
            if m > 55:
                m -= 12
            t0 = bar * 4 * beat + st * six
            place(bass, t0, note(v, m, held, 0.004, 0.3, 0.7, 0.015, "b"))
            notes.append((t0, t0 + held, int(m)))
    b = bass / (np.sqrt((bass**2).mean()) + 1e-9) * 0.1 * 10 ** (rng.uniform(-3, 5) / 20)
    k, kt = make_kick(rng)
    ktimes = []
    kp = [[0, 4, 8, 12], [0, 4, 8, 12], [0, 10], [0, 6, 10], [0, 7, 10]][rng.integers(5)]
    sn = int(0.4 * SR)
    t = np.arange(sn) / SR
    fs = rng.uniform(150, 260)
    snare = np.sin(2 * np.pi * fs * t) * np.exp(-t / 0.06) * rng.uniform(0.2, 1) + bp(
        rng.standard_normal(sn), 800, 8000
    ) * np.exp(-t / rng.uniform(0.05, 0.15))
    hat = bp(rng.standard_normal(sn), 4000, 10500) * np.exp(-t / rng.uniform(0.02, 0.1)) * 0.5
    ft = rng.uniform(80, 260)
    tom = np.sin(2 * np.pi * (ft * t + ft * 0.3 * 0.05 * (1 - np.exp(-t / 0.05)))) * np.exp(
        -t / rng.uniform(0.08, 0.25)
    )
    fc = rng.uniform(400, 900)
    bell = (
        sum(np.sign(np.sin(2 * np.pi * fc * q * t)) for q in (1, rng.uniform(1.3, 1.6)))
        * np.exp(-t / 0.08)
        * 0.3
    )
    perc = [
        (tom, [int(x) for x in np.flatnonzero(rng.random(16) < 0.2)]),
        (bell, [int(x) for x in np.flatnonzero(rng.random(16) < 0.25)]),
    ]
    perc = [p for p in perc if rng.random() < 0.5]
    nodrums = rng.random() < 0.1
    for bar in range(0 if start["drums"] == 0 else start["drums"], bars):
        t0 = bar * 4 * beat
        for st in kp:
            place(kicks, t0 + st * six, k * 10 ** (rng.uniform(-1, 0) / 20))
            ktimes.append(t0 + st * six)
        for st in (4, 12):
            place(drums, t0 + st * six, snare * 0.6)
        for st in range(0, 16, 2):
            place(drums, t0 + st * six, hat * rng.uniform(0.5, 1))
        for x, p in perc:
            for st in p:
                place(drums, t0 + st * six, x * 0.5)
    dr = kicks + drums
    dr = dr / (np.sqrt((dr**2).mean()) + 1e-9) * 0.1
    dB = float(rng.choice([rng.uniform(-2, 6), rng.uniform(4, 14), rng.uniform(10, 20)]))
    m = music / (np.sqrt((music**2).mean()) + 1e-9) * 0.1 * 10 ** (rng.uniform(-4, 2) / 20)
    if not hasbass:
        b = b * 0
        notes = []
    if nodrums:
        dr = dr * 0
        dB = -99
    mix = (m + b) * 10 ** (-max(dB, 0) / 20) + dr * 10 ** (min(dB, 0) / 20)
    nz = 10 ** (-rng.uniform(45, 80) / 20) * rng.standard_normal(N) * 0.1
    mix = mix + nz
    mix = np.tanh(mix / np.percentile(abs(mix), 99.9) * rng.uniform(0.5, 1.3)) * 0.8
    truth = dict(
        key=f"{NAMES[tonic]} {'minor' if minor else 'major'}",
        tuning=tun,
        bpm=bpm,
        notes=notes,
        kick=kt,
        kick_times=ktimes if not nodrums else [],
        drums_db=dB,
        loop=loop,
        scale=scale,
        layers=layers,
    )
    return dict(mix=mix, music=m, bass=b, kick=kicks * 0.6), truth


if __name__ == "__main__":
    a, b = int(sys.argv[1]), int(sys.argv[2])
    os.makedirs("gen", exist_ok=True)
    for seed in range(a, b):
        p = f"gen/{seed}"
        if os.path.exists(p + ".json"):
            continue
        s, t = piece(seed)
        for k, x in s.items():
            sf.write(
                f"{p}.{k}.wav",
                np.clip(x / max(1, abs(x).max() / 0.95), -1, 1),
                SR,
                subtype="PCM_16",
            )
        json.dump(t, open(p + ".json", "w"))
