"""Fits the weights of the cut into sections.

`fit.py tracks|mix FEATURES TRUTHS [WEIGHTS.rs]`: FEATURES holds SEED.tracks.f32, SEED.mix.f32, SEED.ref.f32 and
their .json as the example `form --rows` writes them, TRUTHS holds SEED.json (the truth.json of each piece; of a
made session with its `reference`). Seeds below 1000 are fitted on, those above are judged. Maximum likelihood of
the true sections in a semi-Markov conditional random field (Sarawagi and Cohen 2004) with a Gaussian prior. The weights
of a mix alone were moved by `near` from such a fit, on 55 arrangements and 22 pieces of the demo as it draws them
now and 8 pieces of the second generator (each of these twice). What `crates/form/src/certainty.rs` holds comes from the logistic regression in `sure`.
"""
import glob, json, os, sys
import numpy as np
from scipy.optimize import minimize
NAMES=['intro','build','drop','break','outro']
def lse(x,axis): 
    m=x.max(axis=axis,keepdims=True); m=np.where(np.isfinite(m),m,0)
    return np.log(np.exp(x-m).sum(axis=axis)+1e-300)+m.squeeze(axis)
class Case:
    def __init__(s,stem,truth):
        j=json.load(open(stem+'.json')); s.name=stem; s.lines=np.array(j['lines']); s.n=len(s.lines)-1; s.L=j['longest']; s.ds,s.dt=j['shared'],j['typed']; s.sure_t=j['sure_tempo']; s.sure_d=j['sure_downbeat']
        s.F=np.fromfile(stem+'.f32','<f4').reshape(-1,s.ds+s.dt)
        s.off=[0]
        for to in range(1,s.n+1): s.off.append(s.off[-1]+to-max(0,to-s.L))
        s.truth=truth; s.bar=60/truth['tempo_bpm']*truth['beats_per_bar']
        s.tb=np.array([q['start_s'] for q in truth['sections']]+[truth['sections'][-1]['end_s']])
        own=np.median(np.diff(s.lines)) if s.n>1 else 1
        s.grid_ok=abs(own/s.bar-1)<.01
        s.segs=None
        if s.grid_ok:
            b=[int(np.argmin(abs(s.lines-t))) for t in s.tb]; b[0]=0; b[-1]=s.n
            ok=all(y>x for x,y in zip(b,b[1:])) and max(np.diff(b))<=s.L
            if ok: s.segs=[(x,y,NAMES.index(q['name'])) for x,y,q in zip(b,b[1:],truth['sections'])]
    def row(s,a,b): return s.off[b-1]+a-max(0,b-s.L)
def load(features,truths,kinds):
    out=[]
    for k in kinds:
        for x in sorted(glob.glob(f'{features}/*.{k}.f32')):
            t=json.load(open(f'{truths}/{os.path.basename(x).split(".")[0]}.json'))
            out.append(Case(x[:-4],t['reference'] if k=='ref' and 'reference' in t else t))
    return out
class Model:
    def __init__(m,ds,dt): m.ds,m.dt=ds,dt; m.size=ds+5*dt+25
    def unpack(m,w): return w[:m.ds],w[m.ds:m.ds+5*m.dt].reshape(5,m.dt),w[m.ds+5*m.dt:].reshape(5,5)
    def scores(m,c,w,scale):
        ws,wt,T=m.unpack(w); F=c.F/scale
        return (F[:,:m.ds]@ws)[:,None]+F[:,m.ds:]@wt.T,T
def forward(c,S,T):
    n=c.n; alpha=np.full((n+1,5),-np.inf); g=np.full((n+1,5),-np.inf); g[0]=0
    for to in range(1,n+1):
        a=max(0,to-c.L); r=slice(c.off[to-1],c.off[to])
        alpha[to]=lse(S[r]+g[a:to],0); g[to]=lse(alpha[to][:,None]+T,0)
    return alpha,g,lse(alpha[n],0)
def backward(c,S,T):
    n=c.n; beta=np.full((n+1,5),-np.inf); h=np.full((n+1,5),-np.inf); beta[n]=0
    # h[from,type]=lse_to(S+beta[to])
    acc=[[] for _ in range(n+1)]
    for fr in range(n-1,-1,-1):
        tos=np.arange(fr+1,min(n,fr+c.L)+1); rows=np.array([c.off[t-1]+fr-max(0,t-c.L) for t in tos])
        h[fr]=lse(S[rows]+beta[tos],0)
        if fr>0: beta[fr]=lse(T+h[fr][None,:],1)
    return beta,h
def nll(w,cases,m,scale,l2):
    loss=0.; G=np.zeros_like(w)
    for c in cases:
        S,T=m.scores(c,w,scale); alpha,g,Z=forward(c,S,T); beta,h=backward(c,S,T)
        P=np.empty_like(S)
        for to in range(1,c.n+1):
            a=max(0,to-c.L); r=slice(c.off[to-1],c.off[to]); P[r]=np.exp(S[r]+g[a:to]+beta[to]-Z)
        E=np.exp(alpha[1:c.n,:,None]+T[None]+h[1:c.n,None,:]-Z).sum(0)
        tr=0.; 
        for k,(a,b,t) in enumerate(c.segs):
            r=c.row(a,b); tr+=S[r,t]; P[r,t]-=1
            if k: p=c.segs[k-1][2]; tr+=T[p,t]; E[p,t]-=1
        loss+=Z-tr; F=c.F/scale
        G[:m.ds]+=P.sum(1)@F[:,:m.ds]; G[m.ds:m.ds+5*m.dt]+=(P.T@F[:,m.ds:]).ravel(); G[m.ds+5*m.dt:]+=E.ravel()
    k=len(cases); return loss/k+l2*(w@w)/k, G/k+2*l2*w/k
def viterbi(c,S,T):
    n=c.n; best=np.full((n+1,5),-np.inf); g=np.full((n+1,5),-np.inf); g[0]=0; back={}; gp=np.zeros((n+1,5),int)
    for to in range(1,n+1):
        a=max(0,to-c.L); r=slice(c.off[to-1],c.off[to]); x=S[r]+g[a:to]; k=x.argmax(0); best[to]=x[k,range(5)]; back[to]=a+k
        y=best[to][:,None]+T; gp[to]=y.argmax(0); g[to]=y.max(0)
    t=int(best[n].argmax()); to=n; segs=[]
    while to>0:
        fr=int(back[to][t]); segs.append((fr,to,t)); to,t=fr,int(gp[fr][t])
    return segs[::-1]
def fscore(t,e,w):
    i=j=h=0
    while i<len(t) and j<len(e):
        if abs(t[i]-e[j])<=w: h+=1;i+=1;j+=1
        elif t[i]<e[j]: i+=1
        else: j+=1
    return 2*h/(len(t)+len(e))
def fit(cases,l2=1.,iters=120,w0=None):
    c0=cases[0]; m=Model(c0.ds,c0.dt); scale=np.sqrt(np.mean([(c.F.astype(float)**2).mean(0) for c in cases],0))+1e-6; scale[scale<1e-5]=1
    w=np.zeros(m.size) if w0 is None else w0
    r=minimize(nll,w,args=(cases,m,scale,l2),jac=True,method='L-BFGS-B',options=dict(maxiter=iters))
    return m,r.x,scale,r.fun
def adam(cases,m,scale,l2,epochs,w=None,lr=.06,save=None,seed=0):
    """Minibatches of 8; the rate falls to nothing; an average of the last quarter is kept."""
    r=np.random.default_rng(seed); w=np.zeros(m.size) if w is None else w.copy(); a=np.zeros_like(w); b=np.zeros_like(w); t=0; steps=epochs*((len(cases)+7)//8); mean=None; k=0
    for e in range(epochs):
        order=r.permutation(len(cases)); tot=0
        for i in range(0,len(order),8):
            sub=[cases[j] for j in order[i:i+8]]; f,g=nll(w,sub,m,scale,l2*len(sub)/len(cases)); tot+=f*len(sub)
            t+=1; a=.9*a+.1*g; b=.99*b+.01*g*g; rate=lr*(1-t/steps)**.5
            w=w-rate*(a/(1-.9**t))/(np.sqrt(b/(1-.99**t))+1e-8)
            if t>.75*steps: mean=w if mean is None else mean+(w-mean)/(k+1); k+=1
        if save and e%3==2: pickle.dump((m.ds,m.dt,w,scale),open(save,'wb'))
        print('epoch',e,round(tot/len(cases),3),flush=True)
    w=mean if mean is not None else w
    if save: pickle.dump((m.ds,m.dt,w,scale),open(save,'wb'))
    return w
def scale_of(cases):
    s=np.sqrt(np.mean([(c.F.astype(float)**2).mean(0) for c in cases],0))+1e-6; s[s<1e-5]=1; return s
BONUS=.5 # for a section, in the cut alone: a missed border costs F as much as a false one
def posterior(c,m,w,scale):
    """Viterbi cut, boundary chances, expected F"""
    S,T=m.scores(c,w,scale); segs=viterbi(c,S+BONUS,T); alpha,g,Z=forward(c,S,T); beta,h=backward(c,S,T)
    p=np.exp(lse(g[:c.n]+h[:c.n],1)-Z).clip(0,1)
    hits=sum(min(1,p[max(1,a-1):a+2].sum()) for a,_,_ in segs[1:])
    ef=2*(hits+2)/(len(segs)+1+p[1:].sum()+2)
    e=[0]+[c.lines[b] for _,b,_ in segs]
    return segs,p,ef,fscore(c.tb,e,c.bar*1.0001)
def write(path,what,m,w,scale):
    ws,wt,T=m.unpack(w); ws=ws/scale[:m.ds]; wt=wt/scale[m.ds:]
    f=lambda v: ', '.join(f'{x:.4f}' for x in v)
    open(path,'w').write(f'''//! Weights for {what}; made by `fit/fit.py`.

use crate::weights::Weights;

pub(crate) static WEIGHTS: Weights = Weights {{
    shared: [{f(ws)}],
    typed: [{', '.join('['+f(r)+']' for r in wt)}],
    changes: [{', '.join('['+f(r)+']' for r in T)}],
}};
''')
def read(path):
    """Weights as `write` writes them: shared, typed, changes"""
    import re
    s=open(path).read(); s=s[s.index('Weights {'):]
    rows=[[float(x) for x in re.findall(r'-?\d+\.\d+',g)] for g in re.findall(r'\[([^\[\]]*)\]',s)]
    return np.array(rows[0]),np.array(rows[1:6]),np.array(rows[6:11])
def near(cases,path,l2=1.,iters=60):
    """Most likely weights where the prior lies about those of the file: few pieces of a new kind move them"""
    c=cases[0]; m=Model(c.ds,c.dt); scale=scale_of(cases); ws,wt,T=read(path)
    w0=np.concatenate([ws*scale[:c.ds],(wt*scale[c.ds:]).ravel(),T.ravel()])
    def f(d):
        v,g=nll(w0+d,cases,m,scale,0.); return v+l2*(d@d)/len(cases),g+2*l2*d/len(cases)
    r=minimize(f,np.zeros_like(w0),jac=True,method='L-BFGS-B',options=dict(maxiter=iters)); return m,w0+r.x,scale
def sure(rows):
    """1 - expected F, doubt of tempo and of downbeat, right or not; of pieces the weights were not fitted on"""
    from sklearn.linear_model import LogisticRegression
    x=np.array([[r[0],r[1],r[2]] for r in rows]); y=np.array([r[3] for r in rows])
    m=LogisticRegression(C=1e4).fit(x,y); return m.intercept_,m.coef_
if __name__=='__main__':
    group,features,truths=sys.argv[1:4]
    cases=load(features,truths,['tracks'] if group=='tracks' else ['mix','ref'])
    seed=lambda c: int(os.path.basename(c.name).split('.')[0])
    low=[c for c in cases if seed(c)<1000]; high=[c for c in cases if seed(c)>=1000]
    m,w,scale,_=fit([c for c in low if c.segs],1.,90)
    for label,x in (('fit',low),('judged',high)):
        f=np.array([posterior(c,m,w,scale)[3] for c in x]); print(label,len(f),'F',f.mean().round(3),'right',np.mean(f>=.9).round(3))
    if len(sys.argv)>4: write(sys.argv[4],'a mix whose tracks are known' if group=='tracks' else 'a mix alone',m,w,scale)
