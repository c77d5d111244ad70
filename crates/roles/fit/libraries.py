"""Recorded sounds for fitting, from Debian packages with free licences:
hydrogen-drumkits, hydrogen-data, lmms-common (one-shots by file name),
timgm6mb-soundfont and csound-soundfont (phrases through fluidsynth), avldrums and
freepats (single sounds), hydrogen-drumkits-effects (strummed chords), flite and
espeak-ng (speech, sung with pyworld). None of them is a source of the sessions
and one-shots that judge; fluid-soundfont-gm, which is one, is left out."""
import glob, os, re, struct, subprocess, tempfile
import numpy as np
import soundfile as sf
from synthesis import SR

KITS = "/usr/share/hydrogen/data/drumkits"
LMMS = "/usr/share/lmms/samples"

RULES = [
    (r"empty|stomach|demo|hihat-semi|SemiOpen|choke|Drum_|VP Drum", None),
    (r"emptySample|beats_0|HH\d?_0|rs_0|BL_0|EE_Hat_(Low|Ring)", None),
    (r"GuitarStrums/.*_(01|02|03|DOWN_..|UP_..)\.", None),
    (r"GuitarStrums/.*", "guitar"),
    (r"samples/basses/(bass|rave_bass|horror)", "bass"),
    (r"samples/stringsnpads/(juno|korg|nord|orion|heaven|space)", "pad"),
    (r"open|OHH|_Op_|/ho_0|1 Op|opened", "open hat"),
    (r"hihat-closed|HiHatClosed|HatClosed|HatPedal|HiHatFoot|hhclosed|hhpedal|closehihat|CHH|Hat_Cl|Hat \d (Cl|Pd)|Hat_Closed|Hat_Pedal|Millo_Multi.*hh_|PowR_HH|hihat_closed|hihat_foot|pedalhihat|hhat-|hat-light", "closed hat"),
    (r"cowbell|agogo|/CB\d?_|mc_cb|conga|bongo|djembe|cajon|clave|clav0|woodblock|wood0|waterglass|kenkeni|sangban|dununba|EE_Click|VP Click|EE_Whistle|stick-\d|Stick-\d|stick_Woody|zap0|/misc/(dong|metalish|metronome|electric)|xFX|yFX", "percussion"),
    (r"shaker|shake5|maraca|tambourine", "shaker"),
    (r"clap|snap", "clap"),
    (r"side-?stick|RimClick|stick-rim|/rim_?0|nasty_rim", "rim"),
    (r"crash|ride|splash|china|cymbal|/RD\d?_|PaisteBell|/cc_0|/rc_0|cra_R", "cymbal"),
    (r"snare|/SN\d?_|/sd_0|PowR_SN", "snare"),
    (r"tom|/TM\d?_|/t[12]_|/ft_0", "tom"),
    (r"bassdrum|kick|/BD_|/bd_?\d|_BD_|_K_0", "kick"),
    (r"lmms/samples/effects|/misc/(applause|raving|hit0)", "effects"),
]


def label(path):
    for rule, role in RULES:
        if re.search(rule, path, re.I):
            return role
    return None


def load(path):
    x, rate = sf.read(path, always_2d=True, dtype="float32")
    x = x.mean(1)
    if len(x) < 64 or np.abs(x).max() < 1e-4:
        return None
    if rate != SR:
        n = int(len(x) * SR / rate)
        x = np.interp(np.arange(n) * rate / SR, np.arange(len(x)), x)
    x = x / np.abs(x).max()
    start = np.argmax(np.abs(x) > .003)
    return x[max(start - 40, 0):].astype(np.float64)


def one_shots():
    """{role: {library: [array]}}"""
    found = {}
    paths = glob.glob(KITS + "/*/*") + glob.glob(LMMS + "/drums/*") + glob.glob(LMMS + "/misc/*") + glob.glob(LMMS + "/effects/*") + glob.glob(LMMS + "/basses/*") + glob.glob(LMMS + "/stringsnpads/*")
    for path in sorted(paths):
        role = label(path)
        if role is None or not re.search(r"\.(wav|flac|ogg|aiff)$", path):
            continue
        try:
            x = load(path)
        except Exception:
            continue
        if x is not None and len(x) < 8 * SR:
            lib = path.split("/")[-2]
            found.setdefault(role, {}).setdefault(lib, []).append(x)
    return found


def midi(path, program, notes, bank_drum=False, bend=None):
    """notes: (start s, length s, key, velocity)"""
    import mido
    mid = mido.MidiFile(ticks_per_beat=1000)
    track = mido.MidiTrack()
    mid.tracks.append(track)
    track.append(mido.MetaMessage("set_tempo", tempo=1000000))
    ch = 9 if bank_drum else 0
    track.append(mido.Message("program_change", channel=ch, program=program))
    events = []
    for s, l, k, v in notes:
        events += [(s, 1, k, v), (s + l, 0, k, 0)]
    events.sort()
    last = 0
    for s, on, k, v in events:
        tick = int(s * 1000)
        track.append(mido.Message("note_on" if on else "note_off", channel=ch, note=int(k), velocity=int(v), time=tick - last))
        last = tick
    mid.save(path)


FONTS = ["/usr/share/sounds/sf2/TimGM6mb.sf2", "/usr/share/sounds/sf2/sf_GMbank.sf2",
         "/usr/share/sounds/sf2/Red_Zeppelin_4_LV2.sf2"]
PATCHES = "/usr/share/midi/freepats"


def patch_samples(path, seconds=1.5):
    """The samples of a Gravis patch file, loops played on; [(MIDI note, array)]."""
    data = open(path, "rb").read()
    if data[:10] != b"GF1PATCH11":
        return []
    count = data[198]
    at, found = 239, []
    for _ in range(count):
        size, begin, end, rate, _, _, root = struct.unpack_from("<IIIHIII", data, at + 8)
        mode = data[at + 55]
        raw = data[at + 96:at + 96 + size]
        at += 96 + size
        if len(raw) < size or rate < 4000:
            break
        x = np.frombuffer(raw[:size // 2 * 2], "<i2").astype(float) if mode & 1 else np.frombuffer(raw, np.int8).astype(float)
        if mode & 2:
            x = x - 32768 * np.sign(x) if mode & 1 else x - 128 * np.sign(x)
        width = 2 if mode & 1 else 1
        begin, end = begin // width, end // width
        if mode & 4 and 16 < end - begin and end <= len(x):
            more = max(int(seconds * rate) - end, 0)
            x = np.concatenate([x[:end], np.resize(x[begin:end], more)])
            x[-min(len(x), rate // 10):] *= np.linspace(1, 0, min(len(x), rate // 10))
        n = int(len(x) * SR / rate)
        if n > 400 and np.abs(x).max() > 0:
            x = np.interp(np.arange(n) * rate / SR, np.arange(len(x)), x)
            found.append((69 + 12 * np.log2(max(root, 8000) / 440e3), x / np.abs(x).max()))
    return found


def patches():
    """{program or drum key (from 1000 on): [(MIDI note, array)]}"""
    found = {}
    for folder, base in (("Tone_000", 0), ("Drum_000", 1000)):
        for path in sorted(glob.glob(f"{PATCHES}/{folder}/*.pat")):
            sounds = patch_samples(path)
            if sounds:
                found.setdefault(base + int(os.path.basename(path)[:3]), []).extend(sounds)
    return found


def play(font, program, notes, drum=False):
    with tempfile.TemporaryDirectory() as d:
        midi(d + "/a.mid", program, notes, drum)
        subprocess.run(["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-r", str(SR), "-g", "0.6", "-F", d + "/a.wav", FONTS[font], d + "/a.mid"],
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
        x, _ = sf.read(d + "/a.wav", dtype="float64")
    return x


WORDS = "love night feel the light take me higher never let go dance with your heart burning in my dreams tonight we are one forever falling down time is running out hold on to fire shadows moving closer baby come back home again rhythm of the summer rain".split()


def speech(r):
    """Speech of a drawn voice, mono at SR."""
    text = " ".join(r.choice(WORDS, r.integers(3, 12)))
    with tempfile.TemporaryDirectory() as d:
        out = d + "/a.wav"
        if r.random() < .6:
            voice = r.choice(["kal16", "awb", "rms", "slt", "kal"])
            subprocess.run(["flite", "-voice", voice, "-t", text, "-o", out], check=True, stderr=subprocess.DEVNULL)
        else:
            voice = r.choice(["en-us", "en-gb", "fr", "de", "es", "it", "pt"]) + r.choice(["", "+f2", "+f3", "+f4", "+m2", "+m5", "+m7"])
            subprocess.run(["espeak-ng", "-v", voice, "-s", str(r.integers(90, 200)), "-p", str(r.integers(20, 80)), "-w", out, text], check=True, stderr=subprocess.DEVNULL)
        x, rate = sf.read(out, dtype="float64")
    return x, rate


def sing(r, x, rate, scale):
    """Makes speech follow the notes of a scale, with glides and vibrato."""
    import pyworld
    f0, t = pyworld.dio(x, rate, frame_period=10)
    f0 = pyworld.stonemask(x, f0, t, rate)
    sp = pyworld.cheaptrick(x, f0, t, rate)
    ap = pyworld.d4c(x, f0, t, rate)
    stretch = r.uniform(1.2, 2.5)
    idx = np.minimum((np.arange(int(len(f0) * stretch)) / stretch).astype(int), len(f0) - 1)
    f0, sp, ap = f0[idx], sp[idx], ap[idx]
    notes = np.zeros(len(f0))
    i = 0
    note = r.choice(scale)
    while i < len(f0):
        n = int(r.uniform(15, 70))
        notes[i:i + n] = note
        note = r.choice(scale)
        i += n
    k = np.ones(5) / 5
    notes = np.convolve(np.pad(notes, 2, "edge"), k, "valid")
    notes += r.uniform(.1, .5) * np.sin(2 * np.pi * r.uniform(4.5, 6.5) * .01 * np.arange(len(f0))) + r.uniform(0, .2) * np.cumsum(r.standard_normal(len(f0))) * .1
    f = np.where(f0 > 0, 440 * 2 ** ((notes - 69) / 12), 0)
    return pyworld.synthesize(f, np.ascontiguousarray(sp), np.ascontiguousarray(ap), rate, 10)
