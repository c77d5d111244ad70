"""Single sounds from widely drawn synthesis. Every maker takes a numpy Generator
and, where it has a pitch, MIDI note and length; all give mono float arrays."""
import numpy as np
from scipy import signal

SR = 44100


def u(r, a, b):
    return r.uniform(a, b)


def lu(r, a, b):
    return float(np.exp(r.uniform(np.log(a), np.log(b))))


def tt(s):
    return np.arange(max(int(s * SR), 8)) / SR


def noise(r, n):
    return r.standard_normal(n)


def band(x, low=None, high=None, order=2):
    if low:
        x = signal.sosfilt(signal.butter(order, min(low, SR * .45), "high", fs=SR, output="sos"), x)
    if high and high < SR * .45:
        x = signal.sosfilt(signal.butter(order, high, "low", fs=SR, output="sos"), x)
    return x


def decay(t, tau, curve=1.0):
    return np.exp(-(t / tau) ** curve)


def attack(x, s):
    n = min(len(x), max(int(s * SR), 1))
    x[:n] *= np.linspace(0, 1, n)
    return x


def norm(x):
    return x / (np.max(np.abs(x)) + 1e-9)


def phase(f):
    return 2 * np.pi * np.cumsum(f) / SR


def kick(r):
    t = tt(lu(r, .12, 1.6))
    base, top = lu(r, 36, 75), lu(r, 1.3, 9)
    f = base * (1 + (top - 1) * np.exp(-t / lu(r, .006, .07)))
    x = np.sin(phase(f) + u(r, 0, 2)) * decay(t, lu(r, .05, .5), u(r, .7, 2))
    if r.random() < .8:
        x += lu(r, .02, .5) * band(noise(r, len(t)), lu(r, 300, 5000), lu(r, 3000, 18000)) * decay(t, lu(r, .001, .02))
    if r.random() < .3:
        x += u(r, .05, .3) * band(noise(r, len(t)), 50, lu(r, 200, 1500)) * decay(t, lu(r, .02, .2))
    if r.random() < .5:
        x = np.tanh(x * lu(r, 1, 12))
    return norm(x)


def tom(r):
    t = tt(lu(r, .15, 1.2))
    f = lu(r, 70, 330) * (1 + u(r, .05, .9) * np.exp(-t / lu(r, .02, .12)))
    x = np.sin(phase(f)) * decay(t, lu(r, .06, .35))
    for ratio in (1.59, 2.14, 2.3):
        x += u(r, 0, .35) * np.sin(phase(f * ratio)) * decay(t, lu(r, .02, .12))
    x += lu(r, .01, .25) * band(noise(r, len(t)), 100, lu(r, 1500, 9000)) * decay(t, lu(r, .01, .1))
    return norm(x)


def snare(r):
    t = tt(lu(r, .12, .7))
    f = lu(r, 140, 280) * (1 + u(r, .05, .8) * np.exp(-t / .02))
    x = np.sin(phase(f)) * decay(t, lu(r, .02, .14)) + u(r, 0, .6) * np.sin(phase(f * u(r, 1.5, 1.9))) * decay(t, lu(r, .02, .1))
    n = band(noise(r, len(t)), lu(r, 300, 3000), lu(r, 6000, 20000)) * decay(t, lu(r, .03, .22), u(r, .7, 1.2))
    return norm(np.tanh(u(r, .7, 2) * (x * lu(r, .15, 1) + n * lu(r, .25, 1.2) * .5)))


def clap(r):
    t = tt(lu(r, .15, .7))
    env = np.zeros(len(t))
    at = 0.0
    for _ in range(r.integers(2, 6)):
        env += (t >= at) * np.exp(-np.maximum(t - at, 0) / lu(r, .002, .008)) * u(r, .6, 1)
        at += u(r, .006, .016)
    env += (t >= at) * np.exp(-np.maximum(t - at, 0) / lu(r, .02, .15)) * u(r, .3, 1)
    c = lu(r, 800, 2200)
    x = band(noise(r, len(t)), c * u(r, .4, .8), c * u(r, 1.5, 6), 2)
    return norm(x * env)


def snap(r):
    t = tt(lu(r, .06, .25))
    c = lu(r, 1500, 3500)
    x = band(noise(r, len(t)), c * .7, c * 1.5) * decay(t, lu(r, .006, .04))
    return norm(x + .4 * np.sin(2 * np.pi * c * t) * decay(t, .008))


def rim(r):
    t = tt(lu(r, .03, .2))
    x = np.zeros(len(t))
    for f in (lu(r, 350, 900), lu(r, 900, 2000), lu(r, 1600, 3500)):
        x += u(r, .2, 1) * np.sin(2 * np.pi * f * t + u(r, 0, 6)) * decay(t, lu(r, .003, .025))
    x += lu(r, .05, .6) * band(noise(r, len(t)), 800, lu(r, 4000, 14000)) * decay(t, lu(r, .002, .012))
    return norm(np.tanh(x * lu(r, 1, 4)))


def metal(r, t, low=200, high=900):
    if r.random() < .3:
        return noise(r, len(t))
    x = np.zeros(len(t))
    base = lu(r, low, high)
    for ratio in r.uniform(1, 4.5, r.integers(5, 9)):
        x += signal.square(2 * np.pi * base * ratio * t + u(r, 0, 6))
    return x / 4 + u(r, 0, 1.2) * noise(r, len(t))


def closed_hat(r):
    t = tt(lu(r, .03, .2))
    x = band(metal(r, t), lu(r, 4000, 9000), lu(r, 11000, 21000), 3)
    return norm(attack(x * decay(t, lu(r, .008, .05), u(r, .7, 1.3)), .0005))


def open_hat(r):
    t = tt(lu(r, .25, 1.3))
    x = band(metal(r, t), lu(r, 3500, 8000), lu(r, 11000, 21000), 3)
    tau = lu(r, .1, .5)
    env = decay(t, tau, u(r, .7, 1.5))
    if r.random() < .35:
        env *= (t < lu(r, .15, .6))
    return norm(attack(x * env, .001))


def cymbal(r):
    t = tt(lu(r, .9, 4))
    x = band(metal(r, t, 150, 600), lu(r, 250, 3500), lu(r, 9000, 21000), 2)
    x = x * decay(t, lu(r, .3, 1.6), u(r, .6, 1.1))
    if r.random() < .45:  # ride: stick and bell
        for _ in range(4):
            x += u(r, .05, .6) * np.sin(2 * np.pi * lu(r, 500, 5500) * t) * decay(t, lu(r, .05, .9))
    return norm(attack(x, lu(r, .0005, .004)))


def shaker(r):
    t = tt(lu(r, .04, .22))
    x = band(noise(r, len(t)), lu(r, 2500, 7000), lu(r, 8000, 20000), 2)
    a = lu(r, .006, .06)
    env = np.minimum(t / a, 1) ** u(r, .7, 2) * np.exp(-np.maximum(t - a, 0) / lu(r, .012, .06))
    return norm(x * env)


def tambourine(r):
    t = tt(lu(r, .1, .5))
    x = np.zeros(len(t))
    for _ in range(r.integers(4, 14)):
        at, f = u(r, 0, .05), lu(r, 4500, 14000)
        x += (t >= at) * np.sin(2 * np.pi * f * t + u(r, 0, 6)) * np.exp(-np.maximum(t - at, 0) / lu(r, .02, .12)) * u(r, .2, 1)
    x += u(r, .2, 1.5) * band(noise(r, len(t)), 5000, 16000) * decay(t, lu(r, .01, .06))
    return norm(attack(x, .002))


def percussion(r):
    kind = r.integers(0, 13)
    if kind == 0:  # conga, bongo
        t = tt(lu(r, .1, .5))
        f = lu(r, 170, 620) * (1 + u(r, 0, .12) * np.exp(-t / .02))
        x = np.sin(phase(f)) * decay(t, lu(r, .03, .14)) + .3 * np.sin(phase(f * 1.6)) * decay(t, .03)
        x += lu(r, .02, .4) * band(noise(r, len(t)), 500, 6000) * decay(t, .008)
    elif kind == 1:  # cowbell, agogo
        t = tt(lu(r, .1, .6))
        f = lu(r, 450, 1100)
        x = signal.square(2 * np.pi * f * t) + signal.square(2 * np.pi * f * u(r, 1.4, 1.6) * t)
        x = band(x, f * .8, f * 5) * decay(t, lu(r, .03, .25))
    elif kind == 2:  # wood block, clave
        t = tt(lu(r, .04, .2))
        f = lu(r, 700, 2800)
        x = np.sin(2 * np.pi * f * t) * decay(t, lu(r, .006, .04)) + .4 * np.sin(2 * np.pi * f * 2.6 * t) * decay(t, .006)
    elif kind == 3:  # tabla, udu: tone that bends
        t = tt(lu(r, .15, .9))
        f = lu(r, 80, 420) * (1 + u(r, -.35, .35) * (1 - np.exp(-t / lu(r, .03, .2))))
        x = np.sin(phase(f)) * decay(t, lu(r, .05, .3)) + u(r, 0, .5) * np.sin(phase(2 * f)) * decay(t, .1) + u(r, 0, .4) * np.sin(phase(3.01 * f)) * decay(t, .07)
        x += lu(r, .02, .4) * band(noise(r, len(t)), 1000, 9000) * decay(t, .006)
    elif kind == 4:  # electronic blip
        t = tt(lu(r, .03, .4))
        f = lu(r, 200, 3500) * (1 + u(r, -.6, 2) * np.exp(-t / lu(r, .005, .08)))
        x = np.sin(phase(f) + lu(r, .2, 6) * np.sin(phase(f * lu(r, .3, 5)))) * decay(t, lu(r, .01, .12))
    elif kind == 5:  # bell, triangle, glass
        t = tt(lu(r, .3, 2.5))
        x = sum(u(r, .1, 1) * np.sin(2 * np.pi * lu(r, 500, 7000) * t) * decay(t, lu(r, .05, .9)) for _ in range(r.integers(3, 7)))
    elif kind == 6:  # swish, guiro, noise burst
        t = tt(lu(r, .05, .5))
        x = band(noise(r, len(t)), lu(r, 300, 3000), lu(r, 2500, 12000))
        x *= np.abs(np.sin(2 * np.pi * lu(r, 5, 60) * t)) if r.random() < .5 else 1
        x = attack(x * decay(t, lu(r, .02, .2)), lu(r, .001, .06))
    elif kind == 7:  # zap
        t = tt(lu(r, .05, .4))
        f = lu(r, 80, 600) + lu(r, 800, 9000) * np.exp(-t / lu(r, .01, .08))
        x = np.sin(phase(f)) * decay(t, lu(r, .03, .2))
    elif kind == 11:  # membrane loaded in the middle: nearly harmonic, one partial chosen by the stroke
        t = tt(lu(r, .08, 1.2))
        f = lu(r, 130, 420)
        chosen = r.integers(1, 5)
        x = sum((1.0 if k == chosen else u(r, 0, .4)) * np.sin(2 * np.pi * f * k * (1 + u(r, -.015, .015)) * t) * decay(t, lu(r, .03, .5)) for k in range(1, 6))
        x += lu(r, .03, 1) * band(noise(r, len(t)), lu(r, 400, 3000), lu(r, 3500, 12000)) * decay(t, lu(r, .002, .015))
    elif kind == 12:  # membrane without load: partials of a drum skin (zeros of Bessel functions)
        t = tt(lu(r, .08, .8))
        f = lu(r, 70, 500) * (1 + u(r, -.25, .4) * np.exp(-t / lu(r, .02, .15)))
        x = sum(u(r, .05, 1) * np.sin(phase(f * q)) * decay(t, lu(r, .02, .25) / q ** .5) for q in (1, 1.594, 2.136, 2.296, 2.653, 2.918))
        x += lu(r, .05, 1.5) * band(noise(r, len(t)), lu(r, 200, 2500), lu(r, 2600, 12000)) * decay(t, lu(r, .002, .06))
    elif kind >= 9:  # slap and ring of a hand drum
        t = tt(lu(r, .05, .6))
        f = lu(r, 90, 900)
        tau = lu(r, .015, .25)
        x = sum(u(r, .1, 1) / k * np.sin(2 * np.pi * f * k * (1 + u(r, -.01, .01)) * t) * decay(t, tau / k ** u(r, 0, 1)) for k in range(1, 6))
        x += lu(r, .1, 2) * band(noise(r, len(t)), lu(r, 200, 2000), lu(r, 2500, 12000)) * decay(t, lu(r, .002, .03))
    else:  # click, stick
        t = tt(lu(r, .02, .12))
        x = band(noise(r, len(t)), lu(r, 300, 3000), lu(r, 3500, 15000)) * decay(t, lu(r, .001, .015))
        x += u(r, 0, 1) * np.sin(2 * np.pi * lu(r, 500, 4000) * t) * decay(t, lu(r, .002, .02))
    return norm(x)


# ---- tones

def hz(m):
    return 440 * 2 ** ((m - 69) / 12)


def adsr(t, length, a, d, s, rel):
    e = np.minimum(t / max(a, 1e-4), 1) * (s + (1 - s) * np.exp(-np.maximum(t - a, 0) / max(d, 1e-3)))
    return e * np.where(t < length, 1, np.exp(-(t - length) / max(rel, 2e-3)))


TABLES = {}


def osc(r, kind, f, n):
    """Harmonics up to 16 kHz, at most 60, read from a table."""
    ph = phase(np.broadcast_to(f, n)) + u(r, 0, 6)
    if kind == "sine":
        return np.sin(ph)
    top = int(min(60, max(16000 / float(np.mean(f)), 1)))
    if (kind, top) not in TABLES:
        h = np.arange(1, top + 1)
        amp = {"saw": 1 / h, "square": (h % 2) / h, "tri": (h % 2) / h**2, "pulse": np.sin(np.pi * h * .2) / h}[kind]
        at = 2 * np.pi * np.arange(4096) / 4096
        TABLES[kind, top] = (amp[:, None] * np.sin(h[:, None] * at)).sum(0)
    return TABLES[kind, top][(ph * (4096 / (2 * np.pi))).astype(np.int64) & 4095]


class Synth:
    """An oscillator patch: draws its settings once and then plays notes."""

    def __init__(self, r, waves, voices, attack_s, decay_s, sustain, release_s, cutoff, track=.5, vibrato=0.0, fm=0.0, noise_part=0.0):
        self.r, self.waves, self.fm = r, [waves[r.integers(len(waves))] for _ in range(r.integers(1, 3))], fm
        self.voices = voices
        self.detune = lu(r, .0005, .012)
        self.env = (attack_s, decay_s, sustain, release_s)
        self.cutoff, self.sweep, self.tau = cutoff, lu(r, 1, 6), lu(r, .03, .5)
        self.vibrato, self.rate = vibrato, u(r, 4, 7)
        self.noise = noise_part
        self.fmratio = [.5, 1, 2, 3, 1.41, 3.5, 7][r.integers(7)]

    def note(self, m, length):
        r = self.r
        a, d, s, rel = self.env
        t = tt(length + min(rel * 4, 2.5))
        n = len(t)
        f = hz(m) * 2 ** (self.vibrato / 12 * np.sin(2 * np.pi * self.rate * t) * np.minimum(t / .4, 1))
        if self.fm:
            x = np.sin(phase(f) + self.fm * np.exp(-t / self.tau) * np.sin(phase(f * self.fmratio)))
        else:
            x = np.zeros(n)
            for v in range(self.voices):
                for w in self.waves:
                    x += osc(r, w, f * (1 + self.detune * u(r, -1, 1)), n)
        if self.noise:
            x += self.noise * noise(r, n)
        low = band(x, None, max(self.cutoff, hz(m) * 1.2))
        bright = band(x, None, min(max(self.cutoff, hz(m) * 1.2) * self.sweep, 18000))
        k = np.exp(-t / self.tau)
        return (low * (1 - k) + bright * k) * adsr(t, length, a, d, s, rel)


def pluck_string(r, m, length, bright, damp):
    n = int((length + .5) * SR)
    period = SR / hz(m)
    p = max(int(period), 2)
    burst = band(noise(r, p * 2), None, lu(r, 1500, 9000))[:p] * 1.0
    x = np.zeros(n)
    x[:p] = burst - burst.mean()
    pos = max(int(p * u(r, .1, .4)), 1)
    b = np.zeros(p + 2)
    a = np.zeros(p + 2)
    b[0] = 1
    a[0], a[p], a[p + 1] = 1, -damp * bright, -damp * (1 - bright)
    y = signal.lfilter([1], a, x)
    comb = np.zeros(pos + 1)
    comb[0], comb[pos] = 1, -.8
    y = signal.lfilter(comb, [1], y)
    t = np.arange(n) / SR
    return norm(y) * np.where(t < length, 1, np.exp(-(t - length) / .04))


class Guitar:
    def __init__(self, r):
        self.r, self.bright, self.damp = r, u(r, .5, .95), u(r, .985, .9985)
        self.drive = lu(r, 1, 30) if r.random() < .4 else 0

    def note(self, m, length):
        x = pluck_string(self.r, m, length, self.bright, self.damp)
        return band(np.tanh(x * self.drive), 80, 5500) if self.drive else x


class Piano:
    """Struck string: stretched partials, two-stage decay, hammer noise."""

    def __init__(self, r):
        self.r, self.b, self.tilt = r, lu(r, 1e-4, 8e-4), u(r, .55, .85)
        self.electric = r.random() < .4
        self.dec = lu(r, .5, 2)

    def note(self, m, length):
        r = self.r
        t = tt(length + .4)
        f = hz(m)
        x = np.zeros(len(t))
        if self.electric:
            x = np.sin(2 * np.pi * f * t + u(r, .3, 1.8) * np.exp(-t / .25) * np.sin(2 * np.pi * f * t)) * decay(t, self.dec)
            x += u(r, .05, .3) * np.sin(2 * np.pi * f * u(r, 6, 14) * t) * decay(t, lu(r, .03, .2))
        else:
            for k in range(1, int(min(24, 9000 / f)) + 1):
                fk = f * k * np.sqrt(1 + self.b * k * k)
                tau = self.dec * (60 / m) ** 2 / (1 + .25 * k)
                env = .7 * np.exp(-t / (.3 * tau)) + .3 * np.exp(-t / (1.6 * tau))
                x += self.tilt ** k * np.sin(2 * np.pi * fk * t + u(r, 0, 6)) * env
            x += .06 * band(noise(r, len(t)), 200, 3000) * decay(t, .02)
        return attack(norm(x) * np.where(t < length, 1, np.exp(-(t - length) / .07)), .002)


class Organ:
    def __init__(self, r):
        self.r, self.bars = r, r.uniform(0, 1, 9) ** 2

    def note(self, m, length):
        t = tt(length + .1)
        x = sum(b * np.sin(2 * np.pi * hz(m) * k * t) for b, k in zip(self.bars, (.5, 1, 1.5, 2, 3, 4, 5, 6, 8)))
        return x * adsr(t, length, .006, 1, 1, .02)


class Bowed:
    def __init__(self, r):
        self.r, self.n, self.a = r, r.integers(2, 7), lu(r, .05, .4)
        self.body = r.uniform(250, 3500, 4)

    def note(self, m, length):
        r = self.r
        t = tt(length + .4)
        x = np.zeros(len(t))
        for _ in range(self.n):
            vib = u(r, .05, .3) / 12
            f = hz(m) * 2 ** (vib * np.sin(2 * np.pi * u(r, 4.5, 6.5) * t + u(r, 0, 6))) * (1 + u(r, -.004, .004))
            x += osc(r, "saw", f, len(t))
        for f in self.body:
            b, a = signal.iirpeak(f, 3, fs=SR)
            x += .7 * signal.lfilter(b, a, x)
        x += .03 * band(noise(r, len(t)), 2000, 9000)
        return band(x, 100, 7500, 1) * adsr(t, length, self.a, 1, 1, .15)


class Blown:
    def __init__(self, r):
        self.r, self.cut, self.a = r, lu(r, 900, 4000), lu(r, .02, .08)
        self.n = r.integers(1, 4)
        self.flute = r.random() < .25

    def note(self, m, length):
        r = self.r
        t = tt(length + .2)
        vib = u(r, .05, .35) / 12 * np.minimum(t / .5, 1)
        env = adsr(t, length, self.a, .15, .8, .06)
        x = np.zeros(len(t))
        for _ in range(self.n):
            f = hz(m) * 2 ** (vib * np.sin(2 * np.pi * u(r, 4.5, 6) * t) - .4 / 12 * np.exp(-t / .03)) * (1 + u(r, -.003, .003))
            x += osc(r, "tri" if self.flute else "saw", f, len(t))
        dull = band(x, 150, self.cut)
        k = np.clip(env, 0, 1) ** 2
        x = dull * (1 - .6 * k) + .6 * k * x
        return (x + (.15 if self.flute else .01) * band(noise(r, len(t)), 800, 8000)) * env


VOWELS = {"a": (800, 1150, 2900), "e": (400, 1600, 2700), "i": (350, 2000, 2800), "o": (450, 800, 2830), "u": (325, 700, 2700)}


def sung(r, notes, octave_up):
    """A sung line from a glottal pulse through formants; notes are (midi, s)."""
    total = sum(s for _, s in notes) + .3
    t = tt(total)
    m = np.zeros(len(t))
    gate = np.zeros(len(t))
    at = 0
    vowel = np.zeros((3, len(t)))
    shift = u(r, .85, 1.25)
    for note, s in notes:
        n = int(s * SR)
        m[at:at + n] = note
        gate[at:at + int(n * u(r, .7, 1))] = u(r, .5, 1)
        vowel[:, at:at + n] = np.array(VOWELS["aeiou"[r.integers(5)]])[:, None] * shift
        at += n
    m[at:] = notes[-1][0]
    vowel[:, at:] = vowel[:, at - 1:at]
    glide = signal.butter(1, lu(r, 4, 15), fs=SR, output="sos")
    m = signal.sosfilt(glide, m - m[0]) + m[0]
    m += u(r, .1, .6) * np.sin(phase(u(r, 4.5, 6.5) + np.zeros(len(t)))) * (signal.sosfilt(signal.butter(1, 1, fs=SR, output="sos"), gate))
    m += .15 * band(noise(r, len(t)), None, 8) * 20
    gate = signal.sosfilt(signal.butter(1, 12, fs=SR, output="sos"), gate)
    ph = phase(hz(m))
    x = np.zeros(len(t))
    top = int(min(36, 6000 / hz(m.min())))
    for k in range(1, top + 1):
        gain = 1e-3
        for i, (amp, w) in enumerate(((1, 90), (.5, 110), (.25, 170))):
            gain = gain + amp / (1 + ((hz(m) * k - vowel[i]) / w) ** 2)
        x += gain * k ** -.6 * np.sin(k * ph)
    x = x * gate + u(r, .01, .08) * band(noise(r, len(t)), 1500, 9000) * gate
    at = 0
    for _, s in notes:  # consonants
        if r.random() < .6:
            n = int(u(r, .02, .1) * SR)
            x[at:at + n] += u(r, .2, 1.2) * band(noise(r, n), lu(r, 1500, 6000), 12000)[:len(x[at:at + n])] * np.hanning(n)[:len(x[at:at + n])]
        at += int(s * SR)
    return norm(x)


# ---- noises

def riser(r, s):
    t = tt(s)
    k = t / s
    up = r.random() < .75
    k = k if up else 1 - k
    x = np.zeros(len(t))
    if r.random() < .75:
        n = noise(r, len(t))
        lows = [lu(r, 150, 800) * 2 ** i for i in range(5)]
        for i, low in enumerate(lows):
            w = np.exp(-((k * 4 - i) / u(r, .6, 1.6)) ** 2)
            x += band(n, low, low * 2.5) * w
    if r.random() < .45 or not x.any():
        x += u(r, .3, 1.5) * osc(r, "saw", lu(r, 60, 300) * 2 ** (k * u(r, 1, 3)), len(t))
    return norm(x * (u(r, .02, .3) + k ** u(r, .7, 3)))


def impact(r):
    t = tt(lu(r, .8, 5))
    x = band(noise(r, len(t)), lu(r, 25, 200), lu(r, 800, 16000)) * decay(t, lu(r, .15, 1.3), u(r, .6, 1))
    f = lu(r, 28, 70) * (1 + u(r, 0, 4) * np.exp(-t / .08))
    x = norm(x) * u(r, .2, 1) + u(r, .2, 1.2) * np.sin(phase(f)) * decay(t, lu(r, .2, 1.2))
    return norm(x)


def laser(r):
    t = tt(lu(r, .3, 3))
    f = lu(r, 100, 2000) * 2 ** (u(r, .3, 2) * np.sin(2 * np.pi * lu(r, .3, 14) * t) + u(r, -3, 3) * t / t[-1])
    x = np.sin(phase(np.clip(f, 20, 15000)) + u(r, 0, 4) * np.sin(phase(np.clip(f * lu(r, .1, 3), 5, 15000))))
    return norm(attack(x * decay(t, lu(r, .3, 3)), .005))


def scratch(r):
    """Sound moved back and forth under a needle."""
    n = int(lu(r, .2, 1.5) * SR)
    source = band(noise(r, 2 * SR), lu(r, 80, 600), lu(r, 1500, 7000)) + u(r, 0, 2) * osc(r, "saw", lu(r, 80, 500), 2 * SR)
    speed = lu(r, 1, 4) * np.sin(2 * np.pi * lu(r, 1.5, 9) * np.arange(n) / SR + u(r, 0, 6))
    at = np.abs(np.cumsum(speed) + SR) % (2 * SR - 2)
    return norm(attack(np.interp(at, np.arange(2 * SR), source) * np.minimum(np.abs(speed), 1), .002))


def room_tone(r, s):
    t = tt(s)
    x = noise(r, len(t))
    x = signal.lfilter([1], [1, -u(r, 0, .98)], x)
    if r.random() < .6:
        x = band(x, lu(r, 30, 2000), lu(r, 2500, 18000))
    x = norm(x) * (1 + u(r, 0, .6) * np.sin(2 * np.pi * lu(r, .05, 3) * t))
    if r.random() < .5:  # crackle
        n = int(s * lu(r, 2, 60))
        clicks = np.zeros(len(t))
        clicks[r.integers(0, len(t), n)] = r.standard_normal(n) * lu(r, .3, 3)
        x += band(clicks, 500, 12000) * 3
    return norm(x)
