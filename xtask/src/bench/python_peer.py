"""What a general-purpose library does with one file: spectrum, chroma, beats."""

import sys

import librosa
import numpy

samples, rate = librosa.load(sys.argv[1], sr=None, mono=True)
spectrum = numpy.abs(librosa.stft(samples, n_fft=2048, hop_length=512))
chroma = librosa.feature.chroma_stft(S=spectrum**2, sr=rate, hop_length=512)
tempo, beats = librosa.beat.beat_track(y=samples, sr=rate, hop_length=512)
print(librosa.__version__, chroma.shape, float(numpy.atleast_1d(tempo)[0]), len(beats))
