//! Pitch classes in windows of some two thirds of a second, and the triads in
//! them.

/// Long frames in a window.
const FRAMES: f64 = 4.0;
/// Music from C#3 on, bass up to D#3: MIDI.
const MUSIC_MIDI: f32 = 48.5;
const BASS_MIDI: f32 = 51.5;
/// Steepness of the choice between triads.
const CHOICE: f64 = 12.0;

#[derive(Clone, Debug)]
pub(crate) struct Windows {
    first_s: f64,
    length_s: f64,
    music: Vec<[f64; 12]>,
    bass: Vec<[f64; 12]>,
}

/// What the windows say together: lists by root or pitch class, C first.
#[derive(Clone, Debug)]
pub(crate) struct Harmony {
    /// Share of the time of major and of minor triads.
    pub(crate) triads: [[f64; 12]; 2],
    /// Bass, every window alike.
    pub(crate) bass: [f64; 12],
}

impl Windows {
    pub(crate) fn new(first_s: f64, hop_s: f64, frames: usize) -> Self {
        let count = (frames as f64 / FRAMES) as usize;
        Self {
            first_s: first_s - 0.5 * hop_s,
            length_s: FRAMES * hop_s,
            music: vec![[0.0; 12]; count],
            bass: vec![[0.0; 12]; count],
        }
    }

    /// Adds a tone with its weight, and its weight as a bass.
    pub(crate) fn add(&mut self, time_s: f64, midi: f32, class: usize, weight: f64, low: f64) {
        let window = ((time_s - self.first_s) / self.length_s) as usize;
        if midi >= MUSIC_MIDI
            && let Some(classes) = self.music.get_mut(window)
        {
            classes[class] += weight;
        }
        if midi < BASS_MIDI
            && let Some(classes) = self.bass.get_mut(window)
        {
            classes[class] += low;
        }
    }

    pub(crate) fn harmony(&self) -> Harmony {
        let sums: Vec<f64> = self.music.iter().map(sum).collect();
        let usual = median(&sums);
        let mut triads = [0.0; 24];
        for (classes, &content) in self.music.iter().zip(&sums) {
            let weight = (content / usual).min(1.5);
            let shares = triad_shares(classes).map(|share| share * weight);
            add(&mut triads, &shares);
        }
        let mut bass = [0.0; 12];
        for classes in &self.bass {
            let highest = classes.iter().copied().fold(1e-9, f64::max);
            add(&mut bass, &classes.map(|x| x / highest));
        }
        Harmony {
            triads: halves(&triads),
            bass,
        }
    }
}

/// How well each triad fits pitch classes, as shares; majors first.
fn triad_shares(classes: &[f64; 12]) -> [f64; 24] {
    let highest = classes.iter().copied().fold(1e-9, f64::max);
    let roots = classes.map(|x| (x / highest).sqrt());
    let all: f64 = roots.iter().sum();
    let fits: [f64; 24] = std::array::from_fn(|n| {
        let (root, third) = (n % 12, if n < 12 { 4 } else { 3 });
        let inside = roots[root] + roots[(root + third) % 12] + roots[(root + 7) % 12];
        inside / 3.0 - 0.5 * (all - inside) / 9.0
    });
    let best = fits.iter().copied().fold(f64::MIN, f64::max);
    let shares = fits.map(|fit| (CHOICE * (fit - best)).exp());
    let total: f64 = shares.iter().sum();
    shares.map(|share| share / total)
}

fn add<const N: usize>(sums: &mut [f64; N], more: &[f64; N]) {
    sums.iter_mut().zip(more).for_each(|(sum, x)| *sum += x);
}

fn sum(classes: &[f64; 12]) -> f64 {
    classes.iter().sum()
}

fn halves(triads: &[f64; 24]) -> [[f64; 12]; 2] {
    let total = triads.iter().sum::<f64>().max(1e-9);
    [0, 12].map(|from| std::array::from_fn(|n| triads[from + n] / total))
}

/// Median of what is above zero; 1 if nothing is.
fn median(sums: &[f64]) -> f64 {
    let mut sums: Vec<f64> = sums.iter().copied().filter(|x| *x > 0.0).collect();
    sums.sort_by(f64::total_cmp);
    match sums.len() {
        0 => 1.0,
        n if n % 2 == 1 => sums[n / 2],
        n => 0.5 * (sums[n / 2 - 1] + sums[n / 2]),
    }
}
