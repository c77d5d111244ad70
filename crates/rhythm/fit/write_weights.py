"""Writes the weights that fit.py found as src/weights.rs.

usage: ROOT=DIR write_weights.py OUT.rs
"""
import os,sys,pickle,numpy as np,glob
ROOT=os.environ['ROOT']
w=pickle.load(open(ROOT+'/w.pkl','rb'))
nb=int(w['nb'])
n=len(glob.glob(ROOT+'/f/*_fit_*.pkl'))
arr=lambda v,d=4:',\n'.join('    '+', '.join(f'{x:.{d}f}' for x in v[i:i+8]) for i in range(0,len(v),8))
def c(name,size,v,doc): return '\n'.join('/// '+l for l in doc.split('\n'))+f'\n#[rustfmt::skip]\npub(crate) const {name}: [f64; {size}] = [\n{arr(v)},\n];\n'
wj=w['wj']; bars=wj[nb:]
parts=[c('QUICK_WEIGHTS','QUICK_FEATURES',w['wq'],'Weights of [`quick_features`](crate::beat_features::quick_features), in their\norder.'),
c('BEAT_WEIGHTS','FEATURES',wj[:nb],'Weights of [`features`](crate::beat_features::features), in their order.'),
c('BAR_WEIGHTS','BAR_FEATURES',bars,'Weights of [`bar_features`](crate::bar_features::bar_features), in their\norder.'),
c('STEADY','PROOF_FEATURES',w['steady'],'Whether one tempo and one offset hold; weights of the features of a\n[`Proof`](crate::proof::Proof), as the next three.'),
c('FOLLOWED','PROOF_FEATURES',w['followed'],'Whether beats that were followed are beats.'),
c('TEMPO_SURE','PROOF_FEATURES',w['wt'],'Chance that tempo and octave are right.'),
c('DOWNBEAT_SURE','PROOF_FEATURES',w['wd'],'Chance that beats, metre and bar line are right.')]
open(sys.argv[1],'w').write('''//! Weights of the features of beats and bars, and of what bears a grid out.
//!
//! Fitted by `fit/fit.py` on the rows that `examples/grid.rs --features` prints for
//! files of fit seeds of two generators: that of the demo crate and
//! `fit/second_generator.py`. Conditional logistic regression with a ridge for
//! the grids, logistic regression on cross-validated answers for the chances.

// A fitted number may come near a known one by chance.
#![allow(clippy::approx_constant)]

use crate::bar_features::BAR_FEATURES;
use crate::beat_features::{FEATURES, QUICK_FEATURES};
use crate::proof::PROOF_FEATURES;

'''+'\n'.join(parts))
