"""Fits src/weights.rs.

usage: fit.py ROOT OUT.rs

ROOT/c/STYLE_SEED/ holds generated pieces (examples/make.rs of the demo crate, `clean`),
ROOT/f/STYLE_SEED.MIX.CUT.json the rows that `examples/grid.rs --features` prints for each
(MIX is `bounce` or `reference`; CUT names the part cut off). Even seeds are fitted on, odd
seeds tried. Needs numpy and scipy.
"""
import json,glob,os,sys,numpy as np
from scipy.optimize import minimize
ROOT,OUT=sys.argv[1:3]
def truth(d,m):
    t=json.load(open(f'{ROOT}/c/{d}/truth.json'))
    r=t if m=='bounce' else t['reference']
    return {k:r[k] for k in('tempo_bpm','beats_per_bar','first_downbeat_s','swing')}
data=[]
for f in sorted(glob.glob(f'{ROOT}/f/*.json')):
    d,m,c,_=os.path.basename(f).split('.')
    try: j=json.load(open(f))
    except Exception: continue
    t=truth(d,m); t['first_downbeat_s']-=j['skip']
    rows=j['rows']
    if not rows: print('no rows',f); continue
    t['agr']=[r[5] for r in rows]; P=np.array([r[0] for r in rows]);O=np.array([r[1] for r in rows]);F=np.array([r[2] for r in rows])
    X=np.array([r[3] for r in rows]);B=np.array([r[4] for r in rows])
    T=60/t['tempo_bpm']
    ph=(O-t['first_downbeat_s'])/T; ph=(ph-np.round(ph))*T
    ok=(abs(P/T-1)<0.002)&(abs(ph)<0.015)
    data.append(dict(name=f'{d}.{m}.{c}',seed=int(d.split('_')[1]),style=d.split('_')[0],t=t,P=P,O=O,F=F,X=X,B=B,ok=ok,T=T,ph=ph))
print(len(data),'no right candidate:',[ (x['name'],round(60/x['T'],2),np.round(60/x['P'],2).tolist()[:12]) for x in data if not x['ok'].any()][:12], sum(not x['ok'].any() for x in data))
def fit(groups,lam,w0=None):
    # groups: list of (X,label mask); conditional logit
    n=groups[0][0].shape[1]
    A=np.vstack([g[0] for g in groups]); idx=np.concatenate([[i]*len(g[0]) for i,g in enumerate(groups)])
    Y=np.concatenate([g[1] for g in groups]); N=len(groups)
    sd=A.std(0)+1e-6
    A=A/sd
    starts=np.r_[0,np.cumsum([len(g[0]) for g in groups])[:-1]]
    def f(w):
        s=A@w; mx=np.maximum.reduceat(s,starts); e=np.exp(s-mx[idx]); Z=np.add.reduceat(e,starts); p=e/Z[idx]
        eo=np.where(Y,e,0); Zo=np.add.reduceat(eo,starts); q=eo/Zo[idx]
        return -(np.log(Zo/Z)).sum()+lam*w@w/2, -(A.T@(q-p))+lam*w
    r=minimize(f,np.zeros(n),jac=True,method='L-BFGS-B',options=dict(maxiter=500))
    return r.x/sd
def prob(X,w):
    s=X@w; e=np.exp(s-s.max()); return e/e.sum()
BARS=[(4,0),(4,1),(4,2),(4,3),(3,0),(3,1),(3,2)]
def barlab(x,i):
    t=x['t'];T=x['T'];k=int(round((t['first_downbeat_s']-x['F'][i])/T)); m=t['beats_per_bar']
    return np.array([b==(m,k%m) for b in BARS])
def evaluate(sel,w,wb,tag):
    n=0;o1=o4=0;dn=0;dall=0;rel=[];relb=[];by={};miss=[]
    for x in sel:
        p=prob(x['X'],w);i=p.argmax();P=x['P'][i]
        good=abs(P/x['T']-1)<0.04; rat=[abs(P*r/x['T']-1)<.04 for r in(.5,1,2,1/3,3,1.5,2/3,.75,4/3)]
        phok=abs(x['ph'][i])<0.01
        b=by.setdefault(x['style'],[0,0,0,0]);b[0]+=1;b[1]+=good;b[2]+=good and phok
        sure=p[abs(x['P']/P-1)<.02].sum();rel.append((sure,good))
        if good and phok:
            q=prob(x['B'][i],wb);lab=barlab(x,i);r=lab[q.argmax()];b[3]+=r;relb.append((sure*q.max(),r))
            if not r: miss.append(('bar',x['name'],BARS[q.argmax()],BARS[int(lab.argmax())],round(q.max(),2)))
        else:
            relb.append((sure*.5,False)); miss.append((x['name'],round(60/P,2),round(60/x['T'],2),round(x['ph'][i],3),round(sure,2)))
    R=np.array(rel,float);Rb=np.array(relb,float)
    print(tag,'n',len(sel),'tempo',R[:,1].mean().round(3),'down',Rb[:,1].mean().round(3),'sure>.9: tempo',(R[:,0]>=.9).mean().round(2),R[R[:,0]>=.9,1].mean().round(3),'down',(Rb[:,0]>=.9).mean().round(2),Rb[Rb[:,0]>=.9,1].mean().round(3))
    print('  ',{k:[v[0]]+[round(a/v[0],2) for a in v[1:]] for k,v in by.items()})
    return miss
def rng(sel,w):
    n=g=0
    for x in sel:
        m=abs(np.log2(x['P']/x['T']))<0.42
        if not m.any(): n+=1;continue
        p=np.where(m,x['X']@w,-1e9);n+=1;g+=abs(x['P'][p.argmax()]/x['T']-1)<.04
    return g/max(n,1)
tr=[x for x in data if x['seed']%2==0];te=[x for x in data if x['seed']%2==1]
def train(tr,l1,l2):
    w=fit([(x['X'],x['ok']) for x in tr if x['ok'].any()],l1)
    g=[]
    for x in tr:
        if x['ok'].any():
            i=np.where(x['ok'])[0]; i=i[np.argmin(abs(x['ph'][i]))]
            l=barlab(x,i)
            if l.any(): g.append((x['B'][i],l))
    wb=fit(g,l2)
    return w,wb
w,wb=train(tr,3,1)
def arr(v):
    return ',\n'.join('    '+', '.join(f'{x:.4f}' for x in v[i:i+8]) for i in range(0,len(v),8))
evaluate(tr,w,wb,'train');evaluate(te,w,wb,'test')
open(OUT,'w').write(f'''//! Weights of the features of beats and bars.
//!
//! Fitted by `fit/fit.py`, which gives these very figures again: conditional logistic
//! regression with a ridge (3 for beats, 1 for bars), on the rows
//! that `examples/grid.rs --features` prints for {len(tr)} mixes and references of generated
//! pieces of even seeds (eight styles; half of the seeds at the tempo of the
//! style in 4/4, half at 60 to 200 beats a minute, any swing, a third in 3/4;
//! each whole and with its first 1 to 10 s cut off). Pieces of odd seeds were
//! kept for trials.

use crate::bar_features::BAR_FEATURES;
use crate::beat_features::FEATURES;

/// Weights of [`features`](crate::beat_features::features), in their order.
#[rustfmt::skip]
pub(crate) const BEAT_WEIGHTS: [f64; FEATURES] = [
{arr(w)},
];

/// Weights of [`bar_features`](crate::bar_features::bar_features), in their
/// order.
#[rustfmt::skip]
pub(crate) const BAR_WEIGHTS: [f64; BAR_FEATURES] = [
{arr(wb)},
];
''')
