"""Fits the weights of src/sureness_weights.rs.

    cargo run --profile checked -p cupel-layers --example folds -- demo FOLDS 1 40
    cargo run --profile checked -p cupel-layers --example judge -- --traits FOLDS/*.folds > all.jsonl
    python3 fit.py all.jsonl... > ../src/sureness_weights.rs

Seeds below 1000 only. Two logistic functions: a candidate by itself, and beside
those kept before it; then the sureness of what is kept, all out of fold.
"""
import json,math,sys,numpy as np,os
from sklearn.linear_model import LogisticRegression
ZG=[0,1,2,2,3,4,4,5,5,5,6,6,6,6]
TOG=[[1,2],[1,3],[2,3],[1,2,3],[0,1],[0,3],[0,4],[0,5],[3,4],[2,4],[5,6],[4,5],[6,9],[5,9],[7,8],[7,9],[8,9],[7,8,9],[2,7],[10,11],[10,13],[11,13],[10,11,13],[12,13],[10,12],[11,12],[10,11,12,13]]
NO=50; NG=16
def group(o):
    if o<14: return ZG[o]
    if o<41: return ZG[TOG[o-14][0]]
    return 7+(o-41)
def plays4(f):
    own=f['slots']*f['pattern_bars']; p=np.zeros(f['slots']*4)
    for x in f['places']:
        if x<own: p[x::own]=1
    return p
def pack(fs):
    return dict(P=np.array([plays4(f) for f in fs]),lo=np.log2([f['band_hz'][0] for f in fs]),hi=np.log2([f['band_hz'][1] for f in fs]),side=np.array([f['side'] for f in fs]))
def agree(a,b):
    S=a['P']@b['P'].T/np.maximum(np.maximum(a['P'].sum(1)[:,None],b['P'].sum(1)[None]),1)
    ov=np.clip(np.minimum(a['hi'][:,None],b['hi'])-np.maximum(a['lo'][:,None],b['lo']),0,None)
    oa=(a['hi']-a['lo'])[:,None];ob=(b['hi']-b['lo'])[None]
    n=ov/np.maximum(np.minimum(oa,ob),.05); w=ov/np.maximum(np.maximum(oa,ob),.05); d=abs(a['side'][:,None]-b['side'])
    return np.where((S<.5)|(n<.5)|(w<.25)|(d>.35),0,S*(.5+.5*np.minimum(w,1))*(1-d)),S,ov
def feats(c):
    t=np.array(c['traits']); n=len(t); x=np.zeros(NO+n+NG*n); x[c['origin']]=1; x[NO:NO+n]=t; g=group(c['origin']); x[NO+n*(1+g):NO+n*(2+g)]=t; return x
def prep(c):
    T=[];own=[];cap=[]
    for i,t in enumerate(c['truths']):
        cap.append(max(1,len(t['parts'])))
        for f in [t['whole']]+t['parts']: T.append(f);own.append(i)
    cs=c['candidates']; F=pack([x['facts'] for x in cs]); c['T']=pack(T); c['F']=F; c['own']=np.array(own); c['cap']=cap
    c['M']=agree(F,c['T'])[0]; c['y']=c['M'].max(1)>0; c['A'],c['S'],c['ov']=agree(F,F)
    c['mid']=(F['lo']+F['hi'])/2; c['oct']=F['hi']-F['lo']; c['wide']=np.array([x['traits'][8] for x in cs]); c['lev']=np.array([x['level_db'] for x in cs])
    c['g']=np.array([group(x['origin']) for x in cs]); c['sus']=np.array([x['origin']>=45 for x in cs]).astype(float); c['X']=np.array([feats(x) for x in cs])
    c['slots']=cs[0]['facts']['slots']; c['kick']=kicks(c); c['tl']=np.array([t['level_db'] for t in c['truths']])
def logit(p): p=np.clip(p,1e-4,1-1e-4); return np.log(p/(1-p))
NC=12
def kicks(c):
    # struck, below 150 Hz, on the one and mostly on beats
    P=c['F']['P']; return (c['mid']<np.log2(150))&(c['sus']==0)&(2*P[:,::4].sum(1)>=P.sum(1))&(P[:,::c['slots']].sum(1)>0)
def ctx(c,p,i,kept):
    x=np.zeros(NC); x[0]=logit(p[i])
    if not kept: return x
    k=np.array(kept); a=c['A'][i,k]; s=c['S'][i,k]; ov=c['ov'][i,k]/np.maximum(np.minimum(c['oct'][i],c['oct'][k]),.2)
    so=s*ov; j=int(np.argmax(so)); kk=k[j]; sim=so[j]
    x[1:]=[a.max(),(a>0).sum(),sim,sim*abs(c['mid'][i]-c['mid'][kk]),sim*abs(c['wide'][i]-c['wide'][kk]),sim*abs(c['F']['side'][i]-c['F']['side'][kk]),sim*(c['sus'][i]==c['sus'][kk]),(so>.4).sum(),s.max(),(c['g'][k]==c['g'][i]).sum(),sim*(c['lev'][i]-c['lev'][kk])/10]
    return x
def score_idx(M,c):
    # greedy pairing of kept rows M with truths of c
    out=np.zeros(len(M),bool); claim=np.zeros(len(c['cap']),int); uf=set();ut=set()
    I,J=np.nonzero(M>0); order=np.lexsort((J,I,-M[I,J]))
    for q in order:
        i,j=I[q],J[q]
        if i in uf or j in ut: continue
        uf.add(i);ut.add(j);o=c['own'][j]
        if claim[o]<c['cap'][o]: claim[o]+=1;out[i]=True
    return out,claim
def walk(c,p,m2=None,tau=.5,tau1=.2,rows=None):
    kept=[];qs=[];used=set();claim={}
    for i in np.argsort(-p,kind='stable'):
        if p[i]<tau1: break
        if c['lev'][i]<-24 or c['kick'][i] and c['kick'][kept].any(): continue
        x=ctx(c,p,i,kept); hit=None
        for j in np.argsort(-c['M'][i],kind='stable'):
            if c['M'][i,j]<=0: break
            o=c['own'][j]
            if j not in used and claim.get(o,0)<c['cap'][o]: hit=j;break
        if rows is not None: rows.append((x,hit is not None))
        if m2 is None: keep=hit is not None or x[1]==0 and p[i]>.6; q=1
        else: q=1/(1+np.exp(-(x@m2.coef_[0]+m2.intercept_[0]))); keep=q>tau
        if keep:
            kept.append(i);qs.append(q)
            if hit is not None: used.add(hit); claim[c['own'][hit]]=claim.get(c['own'][hit],0)+1
    return kept,qs
def surety(c,p,k,q):
    # what the last judgement looks at: both log odds, order, and the kind of search
    X=np.zeros((len(k),3+NG))
    for n,(i,v) in enumerate(zip(k,q)): X[n,0]=logit(v);X[n,1]=logit(p[i]);X[n,2]=n/10;X[n,3+c['g'][i]]=1
    return X
def evalkept(C,kept):
    K=F=N=Rl=0;R={};CF=CR=CK=0;S=[]
    for n,(c,(k,q)) in enumerate(zip(C,kept)):
        real,claim=score_idx(c['M'][k],c); kn=c['tl']>=-20; K+=kn.sum();F+=(claim[kn]>0).sum();N+=len(k);Rl+=real.sum();S+=list(zip(q,real))
        o=C[(n+7)%len(C)]
        if o['F']['P'].shape[1]==c['F']['P'].shape[1]:
            fk={a:b[k] for a,b in c['F'].items()}; r2,c2=score_idx(agree(fk,o['T'])[0],o); kn2=o['tl']>=-20; CK+=kn2.sum();CF+=(c2[kn2]>0).sum();CR+=r2.sum()
        for i in np.where(kn)[0]:
            a=R.setdefault(c['names'][i].split(':')[0],[0,0]); a[1]+=1;a[0]+=int(claim[i]>0)
    return F/K,Rl/max(N,1),N/len(C),CF/max(CK,1),CR/max(N,1),R,S
def fit1(C,reg): return LogisticRegression(C=reg,max_iter=1500).fit(np.vstack([c['X'] for c in C]),np.concatenate([c['y'] for c in C]))
def train2(C,P):
    m=None
    for _ in range(3):
        rows=[]
        for c,p in zip(C,P): walk(c,p,m,.45,.2,rows)
        m=LogisticRegression(C=1,max_iter=1500).fit(np.array([r[0] for r in rows]),[r[1] for r in rows])
    return m
def load(p):
    C=[json.loads(l) for l in open(p)]
    for c in C: prep(c)
    return C
def oof(C,reg,n=4):
    f=np.arange(len(C))%n; P=[None]*len(C)
    for k in range(n):
        m=fit1([c for c,z in zip(C,f) if z!=k],reg)
        for i in np.where(f==k)[0]: P[i]=m.predict_proba(C[i]['X'])[:,1]
    return P
if __name__=='__main__':
    C=[]
    for f in sys.argv[1:]: C+=load(f)
    REG=.4
    P=oof(C,REG); fold=(np.arange(len(C))//2)%4; kept={t:[None]*len(C) for t in (.35,.4,.45,.5,.6)}
    for k in range(4):
        m2=train2([c for c,z in zip(C,fold) if z!=k],[p for p,z in zip(P,fold) if z!=k])
        for i in np.where(fold==k)[0]:
            for t in kept: kept[t][i]=walk(C[i],P[i],m2,t)
    best=None
    for t in kept:
        e=evalkept(C,kept[t]); print(t,*['%.3f'%v for v in e[:5]],file=sys.stderr)
        if best is None or min(e[:2])>best[0]: best=(min(e[:2]),t,e)
    KEEP=best[1]; S=np.array(best[2][6],float)
    print({k:tuple(v) for k,v in sorted(best[2][5].items())},file=sys.stderr)
    XS=[surety(c,p,*kk) for c,p,kk in zip(C,P,kept[KEEP])]; ys=[score_idx(c['M'][kk[0]],c)[0] for c,kk in zip(C,kept[KEEP])]
    CAL=.3; q=[]
    f=np.arange(len(C))%6
    q=[None]*len(C)
    for k in range(6):
        m=LogisticRegression(C=CAL,max_iter=2000).fit(np.vstack([x for x,z in zip(XS,f) if z!=k]),np.concatenate([y for y,z in zip(ys,f) if z!=k]))
        for i in np.where(f==k)[0]: q[i]=m.predict_proba(XS[i])[:,1]
    q=np.concatenate(q); Y=np.concatenate(ys); cal=LogisticRegression(C=CAL,max_iter=2000).fit(np.vstack(XS),Y)
    for a,b in ((0,.5),(.5,.6),(.6,.7),(.7,.8),(.8,.9),(.9,.95),(.95,1)):
        t=(q>=a)&(q<b); print('sure',a,b,t.sum(),Y[t].mean() if t.any() else None,file=sys.stderr)
    m1=fit1(C,REG); m2=train2(C,P); n=C[0]['X'].shape[1]-NO; n=n//(NG+1); w=m1.coef_[0]
    def row(v): return '['+', '.join('%.3f'%x for x in v)+']'
    def table(v): return '['+', '.join(row(r) for r in v)+']'
    print(f"""//! Weights of [`sureness`](crate::sureness), written by `fit/fit.py` from
//! {len(C)} made sessions.

use crate::sureness::{{CONTEXT, GROUPS, ORIGINS, TRAITS}};

/// A candidate by itself.
pub(crate) const ALONE_BIAS: f32 = {m1.intercept_[0]:.3f};
pub(crate) const ALONE: [f32; TRAITS] = {row(w[NO:NO+n])};
pub(crate) const BY_ORIGIN: [f32; ORIGINS] = {row(w[:NO])};
pub(crate) const BY_GROUP: [[f32; TRAITS]; GROUPS] = {table(w[NO+n:].reshape(NG,n))};
/// Beside those kept.
pub(crate) const BESIDE_BIAS: f32 = {m2.intercept_[0]:.3f};
pub(crate) const BESIDE: [f32; CONTEXT] = {row(m2.coef_[0])};
/// Kept from this probability on.
pub(crate) const KEEP: f32 = {KEEP};
/// How often what is kept turned out real: by its odds beside the others, its odds
/// alone, its rank in tens, and its group.
pub(crate) const SURE_BIAS: f32 = {cal.intercept_[0]:.3f};
pub(crate) const SURE: [f32; 3] = {row(cal.coef_[0][:3])};
pub(crate) const SURE_BY_GROUP: [f32; GROUPS] = {row(cal.coef_[0][3:])};""")
