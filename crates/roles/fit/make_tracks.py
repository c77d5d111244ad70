"""Makes tracks of known role and writes their figures.

    make_tracks.py BINARY OUT.npz SEED COUNT

BINARY is the built example `timbre_features`. No audio is kept."""
import struct, subprocess, sys
import numpy as np
from scipy import signal
import drum_presets
import libraries as lib
import synthesis as sy
from synthesis import SR, u, lu, norm, band, Synth

DRUMS = {"kick": sy.kick, "snare": sy.snare, "clap": sy.clap, "rim": sy.rim, "closed hat": sy.closed_hat, "open hat": sy.open_hat,
         "shaker": sy.shaker, "cymbal": sy.cymbal, "tom": sy.tom, "percussion": sy.percussion}
TONES = ["sub", "bass", "chords", "pad", "strings", "piano", "guitar", "lead", "pluck", "brass"]
OTHERS = ["voice", "effects", "texture", "drum loop", "mix"]
# how often each is drawn
WEIGHTS = {"kick": 7, "snare": 6, "clap": 5, "rim": 5, "closed hat": 6, "open hat": 5, "shaker": 5, "cymbal": 5, "tom": 5, "percussion": 9,
           "sub": 3, "bass": 7, "chords": 5, "pad": 7, "strings": 4, "piano": 5, "guitar": 4, "lead": 6, "pluck": 4, "brass": 3,
           "voice": 6, "effects": 5, "texture": 4, "drum loop": 3, "mix": 2}
# the same for single sounds, as they lie in folders of samples
SINGLES = {"kick": 7, "snare": 6, "clap": 4, "rim": 2, "closed hat": 6, "open hat": 4, "shaker": 2, "cymbal": 4, "tom": 4, "percussion": 16,
           "sub": 1, "bass": 7, "chords": 3, "pad": 5, "strings": 2, "piano": 3, "guitar": 4, "lead": 3, "pluck": 3, "brass": 2,
           "voice": 3, "effects": 9, "texture": 3}
PROGRAMS = {"bass": range(32, 40), "chords": [6, 7, 16, 17, 18, 19, 20], "pad": [88, 89, 90, 91, 92, 93, 94, 95, 52, 54, 49, 50, 51], "strings": [40, 41, 42, 44, 48, 49, 50],
            "piano": [0, 1, 2, 3, 4, 5], "guitar": range(24, 31), "lead": [80, 81, 83, 84, 86, 87], "pluck": [8, 9, 10, 11, 12, 13, 45, 46, 108, 15], "brass": list(range(56, 62)) + [64, 65, 66, 71, 73, 75]}
GM_DRUMS = {"kick": [35, 36], "rim": [37], "snare": [38, 40], "clap": [39], "tom": [41, 43, 45, 47, 48, 50], "closed hat": [42, 44], "open hat": [46],
            "cymbal": [49, 51, 52, 53, 55, 57, 59], "shaker": [54, 69, 70, 82],
            "percussion": [27, 31, 32, 56, 58, 60, 61, 62, 63, 64, 65, 66, 67, 68, 71, 72, 75, 76, 77, 73, 74, 78, 79, 80, 81, 83, 85, 86, 87]}
# the drum map of the acoustic kits
KIT_DRUMS = {"kick": [36], "rim": [37], "snare": [38, 40], "clap": [39], "tom": [41, 43, 45, 47], "closed hat": [42, 44], "cymbal": [49, 51, 53, 57, 59],
             "shaker": [54], "percussion": [56]}
# struck sounds that have a pitch
STRUCK = {"percussion": [47, 112, 113, 115, 116], "tom": [117, 118], "effects": [119, 121, 122, 123, 125, 126, 127]}


def drum_fonts():
    """One-shots of the drum maps of the sound fonts."""
    found = {}
    jobs = [(0, program, GM_DRUMS, True) for program in (0, 24, 25, 40)] + [(1, 0, GM_DRUMS, True), (2, 0, KIT_DRUMS, True)]
    jobs += [(font, program, {role: [43, 55, 67]}, False) for font in (0, 1) for role, programs in STRUCK.items() for program in programs]
    for font, program, table, drum in jobs:
        keys = [(role, key) for role, keys in table.items() for key in keys]
        x = lib.play(font, program, [(i * 2.0, 1.4, key, 105) for i, (_, key) in enumerate(keys)], drum).mean(1)
        for i, (role, _) in enumerate(keys):
            part = x[int(i * 2 * SR):int((i * 2 + 1.9) * SR)]
            if np.abs(part).max() > .003:
                start = max(np.argmax(np.abs(part) > .01 * np.abs(part).max()) - 40, 0)
                part = norm(part[start:])
                end = len(part) - np.argmax(np.abs(part[::-1]) > 1e-3)
                found.setdefault(role, {}).setdefault(f"font{font}", []).append(part[:end])
    return found


class Maker:
    def __init__(self, seed):
        self.r = np.random.default_rng(seed)
        self.shots = lib.one_shots()
        for role, libs in drum_fonts().items():
            for name, sounds in libs.items():
                self.shots.setdefault(role, {})[name] = sounds
        for role, libs in drum_presets.one_shots(self.r).items():
            self.shots.setdefault(role, {}).update(libs)
        self.patches = lib.patches()
        for role, keys in {**GM_DRUMS, "snare": [25, 38, 40], "clap": [26, 39]}.items():
            sounds = [x for key in keys for _, x in self.patches.get(1000 + key, [])]
            sounds += [x for program in STRUCK.get(role, []) for _, x in self.patches.get(program, [])]
            if sounds:
                self.shots.setdefault(role, {})["patches"] = sounds
        self.spoken = []
        self.single = False

    # ---- drums
    def drum_sound(self, role):
        r = self.r
        libs = self.shots.get(role)
        if libs and r.random() < (.75 if role != "kick" else .55):
            # larger collections come more often
            names = list(libs)
            weight = np.sqrt([len(libs[name]) for name in names])
            name = names[r.choice(len(names), p=weight / weight.sum())]
            x = libs[name][r.integers(len(libs[name]))]
            if r.random() < .7:  # pitch by resampling
                far = (1.7 if role == "percussion" else 1.5) if self.single else 1.35
                p = lu(r, 1 / far, far)
                n = int(len(x) / p)
                x = np.interp(np.arange(n) * p, np.arange(len(x)), x)
            if r.random() < .25:  # shorten
                x = x * np.exp(-np.arange(len(x)) / SR / lu(r, .05, .4))
            return x, name
        if role == "shaker" and r.random() < .3:
            return sy.tambourine(r), "synth"
        if role == "clap" and r.random() < .15:
            return sy.snap(r), "synth"
        return DRUMS[role](r), "synth"

    def steps(self, role, bars):
        """Which of the sixteenths are played, and how loud."""
        r = self.r
        n = 16 * bars
        v = np.zeros(n)
        kind = r.random()
        if role == "kick":
            v[::4] = 1
            if kind > .6:
                v[:] = 0
                pat = np.zeros(16)
                pat[0] = 1
                pat[r.choice(16, r.integers(1, 4), replace=False)] = u(r, .6, 1)
                v = np.tile(pat, bars)
        elif role in ("snare", "clap"):
            v[4::8] = 1
            if kind > .6:
                v[r.choice(n, max(n // 16, 1), replace=False)] = u(r, .3, 1)
        elif role == "closed hat":
            v[::[1, 2, 2, 4][r.integers(4)]] = 1
            v *= r.uniform(.4, 1, n)
            v[r.random(n) < .1] = 0
        elif role == "open hat":
            v[2::4] = 1
            if kind > .7:
                v = (r.random(n) < .12) * 1.0
        elif role == "shaker":
            v[::[1, 1, 2][r.integers(3)]] = 1
            v *= np.tile([1, u(r, .3, .8), u(r, .5, 1), u(r, .3, .8)], n // 4)
        elif role == "cymbal":
            if kind < .5:
                v[::[16, 32, 64][r.integers(3)]] = 1
                v[0] = 1
            else:
                v[::[2, 4][r.integers(2)]] = 1
        elif role == "tom":
            pat = (r.random(16) < u(r, .1, .4)) * 1.0
            v = np.tile(pat, bars) if kind < .5 else v
            if kind >= .5:
                for b in range(0, bars, max(1, bars // 2)):
                    v[b * 16 + 10:b * 16 + 16] = (r.random(6) < .7)
        else:
            pat = (r.random(16) < u(r, .08, .45)) * r.uniform(.4, 1, 16)
            v = np.tile(pat, bars)
            if kind > .7:
                v[r.random(n) < .1] = .7
        if not v.any():
            v[r.integers(n)] = 1
        return v

    def drum_track(self, role, bpm=None):
        r = self.r
        single = self.single and bpm is None
        sounds = [self.drum_sound(role)]
        if single:
            x, name = sounds[0]
            if r.random() < .12:  # two layers
                y = self.drum_sound(role)[0]
                n = max(len(x), len(y))
                x = np.pad(x, (0, n - len(x))) + u(r, .2, 1) * np.pad(y, (0, n - len(y)))
            return np.concatenate([np.zeros(int(SR * (0 if r.random() < .6 else u(r, 0, .1)))), x]), name, True
        if role in ("tom", "percussion") and r.random() < .75:
            sounds += [self.drum_sound(role) for _ in range(r.integers(1, 4))]
        if role == "kick" and r.random() < .15:
            sounds.append(self.drum_sound(role))
        bpm = bpm or u(r, 75, 178)
        bars = max(1, min(8, int(u(r, 3, 10) / (240 / bpm))))
        v = self.steps(role, bars)
        step = 15 / bpm
        swing = r.choice([0, 0, u(r, 0, .33)])
        out = np.zeros(int((len(v) * step + 2.5) * SR))
        wander = r.random() < .3
        cut = role in ("open hat",) and r.random() < .4
        for i in np.nonzero(v)[0]:
            x = sounds[r.integers(len(sounds))][0]
            if wander:
                p = 1 + u(r, -.03, .03)
                x = np.interp(np.arange(int(len(x) / p)) * p, np.arange(len(x)), x)
            at = int((i + (swing if i % 2 else 0)) * step * SR + max(r.normal(0, .0015), 0) * SR)
            n = min(len(x), len(out) - at, int(step * 3 * SR) if cut else 10**9)
            out[at:at + n] += x[:n] * v[i] * u(r, .85, 1)
        return out[:int((len(v) * step + u(r, 0, 2)) * SR)], sounds[0][1], False

    # ---- tones
    def scale(self, low, high):
        root = self.r.integers(12)
        steps = [[0, 2, 3, 5, 7, 8, 10], [0, 2, 4, 5, 7, 9, 11], [0, 3, 5, 7, 10]][self.r.integers(3)]
        return [m for m in range(low, high) if (m - root) % 12 in steps]

    def line(self, low, high, lengths, rest, bpm, bars, leap=3):
        """(start, length, [keys])"""
        r = self.r
        s = self.scale(low, high)
        step, total = 15 / bpm, bars * 16
        at, i, notes = 0, r.integers(len(s)), []
        repeat = []
        while at < total:
            n = int(lengths[r.integers(len(lengths))])
            if r.random() > rest:
                repeat.append((at * step, n * step, [s[i]]))
            i = int(np.clip(i + r.integers(-leap, leap + 1), 0, len(s) - 1))
            at += n
        return repeat or [(0, step * 4, [s[i]])]

    def chord_line(self, low, high, lengths, rest, bpm, bars, size):
        r = self.r
        s = self.scale(low, high + 14)
        step, total = 15 / bpm, bars * 16
        at, notes = 0, []
        base = [k for k in range(len(s)) if s[k] < high - 4] or [0]
        hold, root = 0, base[r.integers(len(base))]
        while at < total:
            n = int(lengths[r.integers(len(lengths))])
            if hold <= 0:
                root = base[r.integers(len(base))]
                hold = 16
            hold -= n
            if r.random() > rest:
                keys = [s[root + 2 * j] for j in range(size) if root + 2 * j < len(s)]
                if r.random() < .4:
                    keys[0] -= 12 if keys[0] > low else 0
                notes.append((at * step, n * step, keys))
            at += n
        return notes or [(0, step * 8, [s[root], s[min(root + 2, len(s) - 1)]])]

    def tone_track(self, role, bpm=None):
        r = self.r
        given, bpm = bpm, bpm or u(r, 75, 178)
        bars = max(1, min(8, int(u(r, 4, 9) / (240 / bpm))))
        shape = {
            "sub": lambda: self.line(24, 44, [2, 4, 8, 16], .2, bpm, bars),
            "bass": lambda: self.line(28, u_int(r, 40, 55), [[1, 2], [2], [2, 4], [4, 8], [1, 1, 2, 3]][r.integers(5)], u(r, 0, .4), bpm, bars),
            "chords": lambda: self.chord_line(48, 70, [[2, 3], [2, 4], [4], [3, 3, 2]][r.integers(4)], u(r, .1, .55), bpm, bars, r.integers(3, 5)),
            "pad": lambda: self.chord_line(u_int(r, 40, 60), u_int(r, 64, 78), [16, 32] if bars > 1 else [16], 0, bpm, bars, r.integers(2, 5)),
            "strings": lambda: self.chord_line(45, 75, [8, 16], .05, bpm, bars, r.integers(2, 4)) if r.random() < .6 else self.line(55, 85, [2, 4, 8], .1, bpm, bars),
            "piano": lambda: self.chord_line(45, 72, [[2, 4], [4, 8], [8, 16], [1, 2, 3]][r.integers(4)], .15, bpm, bars, r.integers(2, 5)) if r.random() < .65 else self.line(50, 88, [1, 2, 4], .2, bpm, bars),
            "guitar": lambda: self.chord_line(40, 62, [2, 4, 8], .15, bpm, bars, r.integers(2, 5)) if r.random() < .5 else self.line(45, 78, [1, 2, 4], .2, bpm, bars),
            "lead": lambda: self.line(u_int(r, 55, 66), u_int(r, 75, 92), [[1, 2, 3], [2, 4], [2, 4, 8, 12], [1, 2, 6]][r.integers(4)], u(r, 0, .35), bpm, bars),
            "pluck": lambda: self.line(u_int(r, 52, 66), u_int(r, 76, 96), [[1], [1, 2], [2], [2, 3]][r.integers(4)], u(r, 0, .4), bpm, bars, 5),
            "brass": lambda: self.line(48, 80, [1, 2, 4, 8], .2, bpm, bars) if r.random() < .6 else self.chord_line(48, 72, [2, 4, 8], .3, bpm, bars, 3),
        }[role]
        notes = shape()
        single = self.single and given is None
        if single:
            s, l, k = notes[r.integers(len(notes))]
            notes = [(0.0, max(l, u(r, .1, 2.5)), k)]
        if role == "bass" and single and r.random() < .3:
            libs = self.shots["bass"]
            name = list(libs)[r.integers(len(libs))]
            return libs[name][r.integers(len(libs[name]))], name, True
        if single and r.random() < .25:
            taken = self.patch_single(role)
            if taken is not None:
                return taken, {"guitar": "strums", "pad": "pads"}.get(role, "patches"), True
        if role in PROGRAMS and r.random() < .42:
            font = r.integers(2)
            programs = list(PROGRAMS[role])
            gate = u(r, .5, 1.0)
            strum = u(r, .005, .03) if role == "guitar" else 0
            flat = [(s + strum * j, max(l * gate, .05), k, r.integers(60, 125)) for s, l, keys in notes for j, k in enumerate(keys)]
            x = lib.play(font, programs[r.integers(len(programs))], flat)
            stereo = r.random() < .5
            return (x if stereo else x.mean(1)), f"font{font}", single
        patch = self.patch(role)
        end = max(s + l for s, l, _ in notes)
        out = np.zeros(int((end + 2.6) * SR))
        gate = {"pluck": u(r, .3, .8), "chords": u(r, .3, .9), "bass": u(r, .4, 1), "pad": 1.02}.get(role, u(r, .5, 1.02))
        cache = {}
        for s, l, keys in notes:
            at = int(s * SR)
            for j, k in enumerate(keys):
                key = (k, round(l, 3))
                if key not in cache or len(keys) < 2:
                    cache[key] = patch.note(k, l * gate)
                x = cache[key]
                a = at + (int(j * .012 * SR) if role == "guitar" else 0)
                n = min(len(x), len(out) - a)
                out[a:a + n] += x[:n] * u(r, .7, 1)
        return out[:int((end + u(r, .1, 2)) * SR)], "synth", single

    def patch_single(self, role):
        """A recorded tone, moved by up to a fifth."""
        r = self.r
        if role == "pad" and r.random() < .4:
            libs = self.shots["pad"]["stringsnpads"]
            x = libs[r.integers(len(libs))]
        elif role == "guitar":
            libs = self.shots["guitar"]["belofilms_GuitarStrums"]
            x = libs[r.integers(len(libs))]
        else:
            sounds = [x for program in PROGRAMS.get(role, []) for _, x in self.patches.get(program, [])]
            if not sounds:
                return None
            x = sounds[r.integers(len(sounds))]
        p = lu(r, .67, 1.5)
        return np.interp(np.arange(int(len(x) / p)) * p, np.arange(len(x)), x)

    def patch(self, role):
        r = self.r
        if role == "sub":
            return Synth(r, ["sine", "sine", "tri"], 1, lu(r, .002, .03), 1, u(r, .6, 1), .04, lu(r, 80, 250))
        if role == "bass":
            kind = r.integers(4)
            if kind == 0:  # plucked
                return Synth(r, ["saw", "square", "tri", "pulse"], 1, .002, lu(r, .06, .35), u(r, 0, .3), .03, lu(r, 100, 900), fm=u(r, .5, 4) if r.random() < .3 else 0)
            if kind == 1:  # reese
                p = Synth(r, ["saw"], r.integers(2, 5), lu(r, .003, .05), 1, 1, .05, lu(r, 150, 2500))
                p.detune = lu(r, .004, .02)
                return p
            if kind == 2 and r.random() < .5:
                return sy.Guitar(r)
            return Synth(r, ["saw", "square", "pulse", "tri"], r.integers(1, 3), .003, lu(r, .1, .6), u(r, .3, 1), .04, lu(r, 150, 2000))
        if role == "chords":
            if r.random() < .3:
                return sy.Organ(r)
            return Synth(r, ["saw", "square", "pulse", "tri"], r.integers(1, 4), .003, lu(r, .08, .5), u(r, 0, .7), lu(r, .03, .25), lu(r, 400, 6000), fm=u(r, .5, 3) if r.random() < .25 else 0)
        if role == "pad":
            return Synth(r, ["saw", "square", "tri", "sine", "pulse"], r.integers(1, 4), lu(r, .08, 1.5), 2, u(r, .7, 1), lu(r, .2, .6), lu(r, 250, 5000), vibrato=u(r, 0, .1), noise_part=u(r, 0, .3) if r.random() < .3 else 0, fm=u(r, .2, 1.5) if r.random() < .15 else 0)
        if role == "strings":
            return sy.Bowed(r)
        if role == "piano":
            return sy.Piano(r)
        if role == "guitar":
            return sy.Guitar(r)
        if role == "pluck":
            if r.random() < .25:
                return sy.Guitar(r)
            return Synth(r, ["saw", "square", "tri", "sine", "pulse"], r.integers(1, 3), .002, lu(r, .05, .4), u(r, 0, .1), lu(r, .03, .3), lu(r, 400, 6000), fm=u(r, .5, 5) if r.random() < .35 else 0)
        if role == "brass":
            return sy.Blown(r)
        return Synth(r, ["saw", "square", "pulse", "tri"], r.integers(1, 5), lu(r, .002, .06), lu(r, .1, 1), u(r, .4, 1), lu(r, .03, .3), lu(r, 800, 9000), vibrato=u(r, 0, .3), fm=u(r, .5, 3) if r.random() < .2 else 0)

    # ---- the rest
    def voice_track(self):
        r = self.r
        kind = r.random()
        if kind < .35:
            s = self.scale(45, 74)
            notes = [(int(s[r.integers(len(s))]), lu(r, .12, 1.2)) for _ in range(r.integers(3, 14))]
            return sy.sung(r, notes[:2] if self.single else notes, 0), "sung", self.single
        if len(self.spoken) < 30 or r.random() < .1:
            self.spoken.append(lib.speech(r))
        x, rate = self.spoken[r.integers(len(self.spoken))]
        x = x[:int(4 * rate)]
        name = "speech"
        if kind < .8:
            x = lib.sing(r, x, rate, self.scale(45, 74))
            name = "world"
        p = rate / SR * (lu(r, .8, 1.35) if r.random() < .5 else 1)
        x = np.interp(np.arange(int(len(x) / p)) * p, np.arange(len(x)), x)
        if rate < 20000:  # speech stops at 8 kHz: give it some air
            air = band(self.r.standard_normal(len(x)), 7000, 14000) * np.abs(band(x, 3000, 7000)) * u(r, .2, 2)
            x = norm(x) + air
        if r.random() < .25:  # chops
            out = np.zeros(int(8 * SR))
            n = int(lu(r, .12, .8) * SR)
            step = 15 / u(r, 80, 175)
            cuts = [x[a:a + n] * np.hanning(n) ** .2 for a in r.integers(0, max(len(x) - n, 1), 3) if a + n <= len(x)]
            for i in range(int(8 / step)):
                if cuts and r.random() < .3:
                    c = cuts[r.integers(len(cuts))]
                    at = int(i * step * SR)
                    m = min(n, len(out) - at)
                    out[at:at + m] += c[:m]
            x = out
        if self.single:
            n = int(lu(r, .15, 2) * SR)
            at = r.integers(0, max(len(x) - n, 1))
            x = x[at:at + n]
        return norm(x), name, self.single

    def effects_track(self):
        r = self.r
        libs = self.shots["effects"]
        parts, name = [], "synth"
        for _ in range(1 if self.single else r.integers(2, 5)):
            kind = r.random()
            if kind < .4:
                parts.append(sy.impact(r))
            elif kind < .62:
                parts.append(sy.riser(r, lu(r, .25, 6)))
            elif kind < .7:
                parts.append(sy.laser(r))
            elif kind < .77:
                parts.append(sy.scratch(r))
            else:
                key = list(libs)[r.integers(len(libs))]
                parts.append(libs[key][r.integers(len(libs[key]))][:6 * SR])
                name = key
        gaps = [np.zeros(int(u(r, 0, 3) * SR)) for _ in parts]
        return np.concatenate([a for pair in zip(parts, gaps) for a in pair]), name, len(parts) == 1

    def texture_track(self):
        r = self.r
        if r.random() < .7:
            return sy.room_tone(r, u(r, 1, 5) if self.single else u(r, 4, 12)), "synth", self.single
        x = sy.riser(r, lu(r, 2, 10))
        return x, "synth", False

    def sum_track(self, full):
        r = self.r
        bpm = u(r, 80, 178)
        parts = [(self.drum_track("kick", bpm), u(r, .7, 1)), (self.drum_track(["snare", "clap"][r.integers(2)], bpm), u(r, .3, .9)),
                 (self.drum_track("closed hat", bpm), u(r, .15, .5))]
        if r.random() < .5:
            parts.append((self.drum_track(["percussion", "shaker", "open hat", "rim"][r.integers(4)], bpm), u(r, .15, .6)))
        if not full and r.random() < .3:
            parts = parts[1:]
        if full:
            parts.append((self.tone_track("bass", bpm), u(r, .4, 1)))
            parts.append((self.tone_track(["chords", "pad", "piano"][r.integers(3)], bpm), u(r, .2, .7)))
            if r.random() < .6:
                parts.append((self.tone_track(["lead", "pluck", "strings"][r.integers(3)], bpm) if r.random() < .6 else self.voice_track(), u(r, .2, .6)))
        xs = [(x[0] if x[0].ndim == 1 else x[0].mean(1), g) for x, g in parts]
        n = int(np.median([len(x) for x, _ in xs]))
        out = np.zeros(n)
        for x, g in xs:
            x = np.tile(x, int(np.ceil(n / max(len(x), 1))))[:n]
            out += g * norm(x)
        return (np.tanh(out * u(r, .8, 2.5)) if r.random() < .6 else out), "sum", False

    def make(self, role):
        if role in DRUMS:
            x, name, single = self.drum_track(role)
        elif role in TONES:
            x, name, single = self.tone_track(role)
        elif role == "voice":
            x, name, single = self.voice_track()
        elif role == "effects":
            x, name, single = self.effects_track()
        elif role == "texture":
            x, name, single = self.texture_track()
        else:
            x, name, single = self.sum_track(role == "mix")
        x = self.dress(x, role, single)
        return (self.wear(x, role) if single else x), name, single

    def wear(self, x, role):
        """A single sound as it may lie in a folder: cut, coarse, noisy, with silence."""
        r = self.r
        peak = np.abs(x).max() + 1e-9
        if r.random() < .2:  # cut off early, with a short fade
            n = int(len(x) * u(r, .35, .9))
            if n > 1500:
                x = x[:n] * np.minimum(np.arange(n)[::-1] / (lu(r, .002, .1) * SR), 1)[:, None]
        if r.random() < .15 and role not in ("sub", "kick"):
            x = signal.sosfilt(signal.butter(2, lu(r, 3000, 12000), "low", fs=SR, output="sos"), x, axis=0)
        if r.random() < .12:  # a coarse sampler
            k = int(r.integers(2, 5))
            x = np.repeat(x[::k], k, 0)[:len(x)]
        if r.random() < .15:  # evened out
            env = np.sqrt(signal.lfilter([.002], [1, -.998], (x ** 2).mean(1))) / peak + 1e-3
            x = x * (env ** -u(r, .1, .5))[:, None]
        x = x / (np.abs(x).max() + 1e-9) * 10 ** (u(r, -40, 0) / 20)
        before = int(SR * (0 if r.random() < .6 else lu(r, .005, .4)))
        after = int(SR * (0 if r.random() < .4 else lu(r, .02, 1.5)))
        x = np.concatenate([np.zeros((before, x.shape[1])), x, np.zeros((after, x.shape[1]))])
        if r.random() < .2:
            x = x + np.abs(x).max() * 10 ** (u(r, -85, -45) / 20) * r.standard_normal(x.shape)
        bits = int(r.choice([8, 10, 12, 16, 16, 16, 24]))
        return np.round(x * 2 ** (bits - 1)) / 2 ** (bits - 1) if bits < 24 else x

    # ---- filters, room, place
    def dress(self, x, role, single):
        r = self.r
        stereo = x.ndim == 2
        x = x if stereo else x[:, None]
        x = x / (np.abs(x).max() + 1e-9)
        low = role in ("sub", "bass", "kick")
        if r.random() < .5:  # tilt about 1 kHz
            b, a = signal.butter(1, u(r, 500, 2500), "high", fs=SR)
            g = 10 ** (u(r, -7, 7) / 20)
            x = x + (g - 1) * signal.lfilter(b, a, x, axis=0)
        if r.random() < .4:
            b, a = signal.iirpeak(lu(r, 80, 8000), u(r, .7, 3), fs=SR)
            x = x + u(r, -.6, 1.2) * signal.lfilter(b, a, x, axis=0)
        if not low and r.random() < .4:
            x = signal.sosfilt(signal.butter(2, {"drums": 1}.get(role, 1) * lu(r, 30, 200), "high", fs=SR, output="sos"), x, axis=0)
        if r.random() < .2:
            x = signal.sosfilt(signal.butter(1, lu(r, 5000, 16000), "low", fs=SR, output="sos"), x, axis=0)
        if r.random() < .25:
            x = np.tanh(x * lu(r, 1, 5))
        if r.random() < .1:  # echo
            d = int(u(r, .15, .5) * SR)
            g = u(r, .1, .5)
            for k in (1, 2, 3):
                if d * k < len(x):
                    x[d * k:] += (g ** k) * x[:-d * k].copy()
        wet = r.random()
        if wet < (.3 if low else .6):
            rt = lu(r, .15, 3 if role not in DRUMS else 1.6)
            n = int(min(rt, 2) * SR)
            sides = 2 if r.random() < .7 else 1
            ir = r.standard_normal((n, sides)) * np.exp(-6.9 * np.arange(n) / SR / rt)[:, None]
            ir = signal.sosfilt(signal.butter(1, [lu(r, 80, 400), lu(r, 2500, 12000)], "band", fs=SR, output="sos"), ir, axis=0)
            pre = int(u(r, 0, .03) * SR)
            ir /= np.sqrt((ir ** 2).sum(0).mean())
            src = np.concatenate([x.mean(1), np.zeros(int(SR * min(rt, 1)))])
            tail = signal.oaconvolve(src[:, None], ir, axes=0)[:len(src)]
            tail = np.concatenate([np.zeros((pre, sides)), tail])[:len(src)]
            g = 10 ** (u(r, -30, -6) / 20) * np.sqrt((x ** 2).mean() / ((tail ** 2).mean() + 1e-12))
            x = np.concatenate([x, np.zeros((len(src) - len(x), x.shape[1]))])
            x = x + g * tail if sides == 2 or x.shape[1] == 2 else x + g * tail[:, :1]
        if x.shape[1] == 1 and r.random() < .45:
            x = np.repeat(x, 2, 1)
            if not low and r.random() < .25:  # wide by delay
                d = r.integers(20, 900)
                x[d:, 1] = .6 * x[d:, 1] + .4 * x[:-d, 0]
        if x.shape[1] == 2 and r.random() < .3:
            p = u(r, 0, np.pi / 2)
            x = x * np.array([np.cos(p), np.sin(p)]) * 1.41
        if not low and role not in DRUMS and r.random() < .25:  # ducked by a kick
            beat = int(60 / u(r, 80, 175) * SR)
            k = np.arange(len(x)) % beat / SR
            x = x * (1 - u(r, .3, 1) * np.exp(-k / lu(r, .05, .2)))[:, None]
        if not single and r.random() < .3:  # silence around
            x = np.concatenate([np.zeros((int(u(r, 0, 5) * SR), x.shape[1])), x])
        x = x / (np.abs(x).max() + 1e-9) * 10 ** (u(r, -30, 0) / 20)
        if r.random() < .2:
            x = x + 10 ** (u(r, -95, -65) / 20) * r.standard_normal(x.shape)
        if r.random() < .3:  # stretch of the whole by resampling, up to a semitone
            p = lu(r, .945, 1.06)
            n = int(len(x) / p)
            x = np.stack([np.interp(np.arange(n) * p, np.arange(len(x)), x[:, c]) for c in range(x.shape[1])], 1)
        return x[:int(12 * SR)]


def u_int(r, a, b):
    return int(r.integers(a, b))


class Figures:
    """The example `timbre_features` at work."""

    def __init__(self, binary):
        self.p = subprocess.Popen([binary], stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def of(self, x, rate):
        x = np.asarray(x, np.float32)
        x = x[:, None] if x.ndim == 1 else x
        self.p.stdin.write(struct.pack("<III", rate, x.shape[1], x.shape[0]) + x.tobytes())
        self.p.stdin.flush()
        return np.array(self.p.stdout.readline().split(), np.float32)


def main():
    binary, out, seed, count = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    maker, figures = Maker(seed), Figures(binary)
    rows, labels, sources, singles = [], [], [], []
    for index in range(count):
        maker.single = maker.r.random() < .4
        table = SINGLES if maker.single else WEIGHTS
        weights = np.array(list(table.values()), float)
        role = list(table)[maker.r.choice(len(table), p=weights / weights.sum())]
        try:
            x, name, single = maker.make(role)
        except Exception as error:
            print("skipped", role, repr(error), file=sys.stderr)
            continue
        row = figures.of(x, int(maker.r.choice([SR, SR, 48000])))
        if len(row):
            rows.append(row)
            labels.append(role)
            sources.append(name)
            singles.append(single)
        if index % 50 == 49 or index == count - 1:
            np.savez(out, x=np.array(rows), role=np.array(labels), source=np.array(sources), single=np.array(singles))


if __name__ == "__main__":
    main()
