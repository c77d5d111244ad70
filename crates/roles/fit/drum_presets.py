"""Plays the drum presets of lmms-common (text files, samples/drumsynth) roughly:
tone with falling pitch, noise, overtones and noise bands, each with an envelope."""
import configparser, glob, os, re
import numpy as np
from scipy import signal
from synthesis import SR, band, norm

FOLDER = "/usr/share/lmms/samples/drumsynth"

RULES = [
    (r"misc_synth|instrument/|/loop", None),
    (r"(^|[_/ -])(k|bd|kick|kick\w*|plain_kick|k_\w+|bassdrum|tr\d+_kick\w*)([_\d. ]|$)|bass_drum|_bd|kick", "kick"),
    (r"clap", "clap"),
    (r"rim|stick", "rim"),
    (r"snr|snare|_sd|brush|(^|[/_])sn[_\d.]", "snare"),
    (r"hat_o|hato|open|_ho|o_hat|hat_long", "open hat"),
    (r"hat_c|hatc|closed|_hc|c_hat|hat_p|pedal|misc_hats|hat", "closed hat"),
    (r"shak|marac|tamb|cabas", "shaker"),
    (r"ride|crash|cym|splash|china", "cymbal"),
    (r"conga|bongo|cow|clav|agogo|guiro|cui|triang|timb|wood|block|tabla|gamelan|thumb|whist|quij|misc_perc|perc", "percussion"),
    (r"tom", "tom"),
    (r"misc_bass", "bass"),
    (r"misc_fx|effects/", "effects"),
]


def label(path):
    name = path[len(FOLDER) + 1:].lower()
    for rule, role in RULES:
        if re.search(rule, name):
            return role
    return None


def envelope(text, n, stretch):
    points = [tuple(map(float, p.split(","))) for p in text.split() if "," in p]
    t = np.array([p[0] for p in points]) * stretch
    v = np.array([p[1] for p in points]) / 100
    return np.interp(np.arange(n), t, v, right=0)


def last(text):
    points = [p.split(",") for p in text.split() if "," in p]
    return max((float(p[0]) for p in points), default=0)


def wave(kind, phase):
    s = np.sin(phase)
    return [s, np.sign(s) * s * s, 2 / np.pi * np.arcsin(s), ((phase / np.pi) % 2) - 1, np.sign(s)][int(kind) % 5]


def play(path, r):
    c = configparser.ConfigParser(strict=False, interpolation=None)
    c.read_string(open(path, errors="ignore").read())
    get = lambda section, key, default=0.0: float(c.get(section, key, fallback=str(default)) or default)
    on = lambda section: c.has_section(section) and get(section, "On") > 0
    level = lambda section: (get(section, "Level", 128) / 128) ** 2
    stretch = get("General", "Stretch", 100) / 100 * r.uniform(.8, 1.2)
    tune = 2 ** ((get("General", "Tuning") + r.uniform(-3, 3)) / 12)
    env = {}
    for s in ("Tone", "Noise", "NoiseBand", "NoiseBand2"):
        if on(s):
            env[s] = c.get(s, "Envelope")
    if on("Overtones"):
        env["O1"], env["O2"] = c.get("Overtones", "Envelope1"), c.get("Overtones", "Envelope2")
    n = int(min(max([last(e) for e in env.values()], default=0) * stretch + 200, 5 * SR))
    if n < 500:
        return None
    x = np.zeros(n)
    t = np.arange(n)
    noise = r.standard_normal(n)
    if on("Tone"):
        f1, f2, droop = get("Tone", "F1"), get("Tone", "F2"), get("Tone", "Droop")
        length = max(last(env["Tone"]) * stretch, 1)
        f = f2 + (f1 - f2) * np.exp(-t / length * 10 ** (droop / 30) * 3) if droop > 0 else f1 + (f2 - f1) * np.minimum(t / length, 1)
        x += level("Tone") * np.sin(2 * np.pi * np.cumsum(f * tune) / SR + get("Tone", "Phase") / 57) * envelope(env["Tone"], n, stretch)
    if on("Noise"):
        slope = get("Noise", "Slope") / 100
        y = signal.lfilter([1], [1, min(slope, 0) * .95], noise) if slope < 0 else signal.lfilter([1, -min(slope, 1) * .9], [1], noise)
        x += level("Noise") * norm(y) * envelope(env["Noise"], n, stretch)
    if on("Overtones"):
        f1, f2 = get("Overtones", "F1") * tune, get("Overtones", "F2") * tune
        a, b = envelope(env["O1"], n, stretch), envelope(env["O2"], n, stretch)
        w1, w2, method, p = get("Overtones", "Wave1"), get("Overtones", "Wave2"), int(get("Overtones", "Method")), get("Overtones", "Param") / 100
        one, two = wave(w1, 2 * np.pi * f1 * t / SR), wave(w2, 2 * np.pi * f2 * t / SR)
        if method == 0:
            y = one * a + two * b
        elif method == 1:
            y = wave(w1, 2 * np.pi * f1 * t / SR + 8 * p * two * b) * a
        elif method == 2:
            y = one * a * (1 - p + p * two * b)
        else:
            y = sum(np.sign(np.sin(2 * np.pi * k * t / SR)) for k in np.linspace(f1, f2 * 2.5, 6)) / 3 * a + .3 * noise * b
        if get("Overtones", "Filter") > 0:
            y = band(y, 4000)
        x += level("Overtones") * y
    for s in ("NoiseBand", "NoiseBand2"):
        if on(s):
            f, d = max(get(s, "F") * tune, 25), get(s, "dF")
            width = max(f * d / 60, 12)
            low, high = max(f - width / 2, 18), min(f + width / 2, 20000)
            if high > low + 5:
                x += level(s) * norm(band(noise, low, high, 1)) * envelope(env[s], n, stretch)
    if get("General", "HighPass") > 0 and get("General", "Filter") > 0:
        x = band(x, 800)
    if on("Distortion"):
        x = np.tanh(x * 10 ** (get("Distortion", "Clipping") / 40))
    return norm(x) if np.abs(x).max() > 1e-4 else None


def one_shots(r):
    found = {}
    for path in sorted(glob.glob(FOLDER + "/*/*.ds")):
        role = label(path)
        if role is None:
            continue
        try:
            x = play(path, r)
        except Exception:
            continue
        if x is not None:
            found.setdefault(role, {}).setdefault("ds " + path.split("/")[-2], []).append(x)
    return found


if __name__ == "__main__":
    for role, libs in one_shots(np.random.default_rng(0)).items():
        print(role, {k: len(v) for k, v in libs.items()})
