"""Fits the weights of src/weights.rs on the rows of dump.py; cross-validates by seed.

usage: ROOT=DIR F=ROWS [LJ=15] fit.py, then write_weights.py OUT.rs
"""
import sys,glob,pickle,os,numpy as np
ROOT=os.environ['ROOT']
from scipy.optimize import minimize
D=[pickle.load(open(f,'rb')) for f in sorted(glob.glob(os.environ.get('F',ROOT+'/f3')+'/*_fit_*.pkl'))]
BARS=[(4,0),(4,1),(4,2),(4,3),(3,0),(3,1),(3,2)]
LQ,LJ=float(os.environ.get('LQ',3)),float(os.environ.get('LJ',20))
CLOSE=14
def label(d,o):
    """period ok and phase ok by candidate for rows; bar label"""
    t=d['t']; T=60/t['tempo_bpm']
    if t['kind']=='drift':
        # truth in even time
        even=np.arange(len(o['file_s']))*.05
        tb=np.interp(t['beats_s'],o['file_s'],even); bars=np.interp(t['bars_s'],o['file_s'],even)
        def beats_ok(P,O,tol=.03):
            g=np.median(np.diff(tb)) if len(tb)>3 else 1
            k=np.round((tb-O)/P); res=tb-(O+k*P)
            return abs(P/g-1)<.03 and np.median(np.abs(res))<tol and (np.abs(res)<2*tol).mean()>.8
        ok=np.array([beats_ok(P,O) for P,O in zip(o['P'],o['O'])],bool)
        lab=np.zeros((len(o['P']),7),bool)
        for i in np.where(ok)[0]:
            k=np.round((bars-o['F'][i])/o['P'][i]).astype(int)%t['beats_per_bar']
            if len(k):
                v=np.bincount(k).argmax()
                lab[i]=[b==(t['beats_per_bar'],v) for b in BARS]
        okq=np.array([beats_ok(P,O) for P,O in zip(o['qp'],o['qo'])],bool)
        g=np.median(np.diff(tb)) if len(tb)>3 else 1
        tem=np.abs(o['P']/g-1)<.04
        return okq,ok,lab,tem
    def f(P,O):
        mid=t['seconds']/2
        ph=(O+np.round((mid-O)/P)*P-t['first_downbeat_s'])/T; ph=(ph-np.round(ph))*T
        return (abs(P/T-1)<.002)&(abs(ph)<.018)
    ok=f(o['P'],o['O']); okq=f(o['qp'],o['qo'])
    lab=np.zeros((len(o['P']),7),bool)
    for i in np.where(ok)[0]:
        k=int(round((t['first_downbeat_s']-o['F'][i])/T))%t['beats_per_bar']
        lab[i]=[b==(t['beats_per_bar'],k) for b in BARS]
    return okq,ok,lab,np.abs(o['P']/T-1)<.04
def fit(groups,lam,w0=None):
    A=np.vstack([g[0] for g in groups]).astype(np.float32); n=[len(g[0]) for g in groups]
    Y=np.concatenate([g[1] for g in groups]); W=np.array([g[2] for g in groups])
    sd=A.std(0)+1e-3; A/=sd
    starts=np.r_[0,np.cumsum(n)[:-1]]; idx=np.repeat(np.arange(len(n)),n)
    def f(w):
        s=(A@w.astype(np.float32)).astype(float); mx=np.maximum.reduceat(s,starts); e=np.exp(s-mx[idx]); Z=np.add.reduceat(e,starts)
        eo=np.where(Y,e,0); Zo=np.add.reduceat(eo,starts)
        r=W[idx]*(eo/Zo[idx]-e/Z[idx])
        return -(W*np.log(Zo/Z)).sum()+lam*w@w/2, -(A.T@r.astype(np.float32)).astype(float)+lam*w
    x0=np.zeros(A.shape[1]) if w0 is None else w0*sd
    r=minimize(f,x0,jac=True,method='L-BFGS-B',options=dict(maxiter=300))
    return r.x/sd
def seed(d): return os.path.basename(os.path.dirname(d['f'])).split('_')[-1] if '/a/' in d['f'] or '/p/' in d['f'] else os.path.basename(d['f'])[:-5]
S=[]
for d in D:
    k=d['t']['kind']
    if k=='beatless': continue
    i=1 if k=='drift' else 0
    if len(d['offers'])<=i or not len(d['offers'][i]['P']): print('no offer',d['f'],k); continue
    o=d['offers'][i]; okq,ok,lab,tem=label(d,o)
    S.append(dict(d=d,o=o,okq=okq,ok=ok,lab=lab,tem=tem,kind=k,seed=seed(d),w=(.6 if k in('nokick','nodrums') else 1.)*(2. if '/p/' in d['f'] else 1.)))
print(len(S),'with a grid; right candidate in all:',{k:(round(np.mean([s['okq'].any() for s in S if s['kind']==k]),3),sum(s['kind']==k for s in S)) for k in set(s['kind'] for s in S)})
print('missing:',[('/'.join(s['d']['f'].split('/')[-2:]),s['d']['t']['tempo_bpm'],s['d']['t'].get('genre')) for s in S if not s['okq'].any() and s['kind']!='drift'][:20])
def train(tr):
    wq=fit([(s['o']['Q'],s['okq'],s['w']) for s in tr if s['okq'].any()],LQ)
    g=[]
    for s in tr:
        o=s['o']; q=o['X'][:,:20]@wq; top=np.argsort(-q)[:CLOSE]
        if not s['lab'][top].any():
            if not s['lab'].any(): continue
            top=np.r_[top,np.where(s['ok'])[0][:1]]
        n=len(top)
        A=np.concatenate([np.repeat(o['X'][top],7,0),o['B'][top].reshape(n*7,-1)],1)
        g.append((A,s['lab'][top].reshape(-1),s['w']))
    wj=fit(g,LJ)
    return wq,wj
def predict(s,wq,wj,rng=None):
    o=s['o'];nb=o['X'].shape[1]
    q=o['X'][:,:20]@wq
    if rng is not None: q=np.where((60/o['P']>=rng[0])&(60/o['P']<=rng[1]),q,-1e9)
    top=np.argsort(-q)[:CLOSE]; top=top[q[top]>-1e8]
    if not len(top): return None
    sc=(o['X'][top]@wj[:nb])[:,None]+o['B'][top]@wj[nb:]
    p=np.exp(sc-sc.max());p/=p.sum(); pb=p.sum(1);P=o['P'][top]
    pt=np.array([pb[np.abs(P/x-1)<.02].sum() for x in P])
    a=pt.argmax(); same=np.abs(P/P[a]-1)<.02; b=np.where(same,pb,-1).argmax(); k=p[b].argmax()
    i=top[b]
    T=60/s['d']['t']['tempo_bpm']
    return dict(i=i,pt=pt[b],pd=p[b,k],tempo=bool(s['tem'][i]),beat=bool(s['ok'][i]),down=bool(s['lab'][i,k]),proof=o['proof'][i],intop=bool(s['ok'][top].any()))
def report(tag,S,R):
    for k in ('steady','three','drift','nokick','nodrums'):
        for src in ('/a/','/b/','/p/'):
            q=[r for s,r in zip(S,R) if r and s['kind']==k and src in s['d']['f']]
            if q: print(f"  {tag} {src} {k:8s} n {len(q)} tempo {np.mean([r['tempo'] for r in q]):.3f} beats {np.mean([r['beat'] for r in q]):.3f} down {np.mean([r['down'] for r in q]):.3f} in top {np.mean([r['intop'] for r in q]):.3f}")
def crossval(K=5):
    seeds=sorted(set(s['seed'] for s in S)); r=np.random.default_rng(1); r.shuffle(seeds); fold={x:i%K for i,x in enumerate(seeds)}
    R=[None]*len(S)
    for k in range(K):
        wq,wj=train([s for s in S if fold[s['seed']]!=k])
        for i,s in enumerate(S):
            if fold[s['seed']]==k: R[i]=predict(s,wq,wj)
    return R
def logistic(A,y,lam,w=None):
    w=np.ones(len(y)) if w is None else w
    sd=A.std(0);sd[sd<1e-6]=1; M=A/sd
    reg=np.ones(A.shape[1])*lam; reg[0]=1e-3
    def f(x):
        z=M@x; l=np.logaddexp(0,-np.where(y,z,-z)); p=1/(1+np.exp(-z)); return (w*l).sum()+(reg*x*x).sum()/2, M.T@(w*(p-y))+reg*x
    return minimize(f,np.zeros(A.shape[1]),jac=True,method='L-BFGS-B').x/sd
def odds(p): return np.clip(np.log(np.maximum(p/np.maximum(1-p,1e-9),1e-9)),-7,7)
if __name__=='__main__':
    import time; t0=time.time()
    R=crossval(); report('cv',S,R); print('cv s',time.time()-t0)
    # sureness from cross-validated answers
    ok=[(s,r) for s,r in zip(S,R) if r and s['kind'] in('steady','three','drift')]
    A=np.array([r['proof'] for s,r in ok],float); At=A.copy();At[:,1]=odds(np.array([r['pt'] for s,r in ok])); Ad=A.copy();Ad[:,1]=odds(np.array([r['pd'] for s,r in ok]))
    yt=np.array([r['tempo'] for s,r in ok]);yd=np.array([r['down'] for s,r in ok])
    wt=logistic(At,yt,2.);wd=logistic(Ad,yd,2.)
    for n,M,y,w in(('tempo',At,yt,wt),('down',Ad,yd,wd)):
        p=1/(1+np.exp(-M@w)); print(n,'sure share',(p>=.9).mean().round(3),'right',y[p>=.9].mean().round(3),'all right',y.mean().round(3),'| table',[(round(a,2),int(((p>=a)&(p<b)).sum()),y[(p>=a)&(p<b)].mean().round(2) if ((p>=a)&(p<b)).any() else None) for a,b in((0,.5),(.5,.7),(.7,.8),(.8,.9),(.9,.95),(.95,.98),(.98,1.01))])
    # steady or not, followed or not
    wq,wj=train(S)
    st=[];fo=[]
    for d in D:
        k=d['t']['kind']
        for i,o in enumerate(d['offers']):
            if not len(o['P']): continue
            s=dict(d=d,o=o,tem=np.zeros(len(o['P']),bool),ok=np.zeros(len(o['P']),bool),lab=np.zeros((len(o['P']),7),bool))
            if k=='beatless': s['d']=dict(t=dict(tempo_bpm=100.))
            r=predict(s,wq,wj); pr=r['proof']
            if i==0: st.append((pr,k not in('beatless','drift'),k,d))
            elif k in('beatless','drift'): fo.append((pr,k=='drift',k,d))
    res={}
    for n,L in(('steady',st),('followed',fo)):
        A=np.array([x[0] for x in L],float);y=np.array([x[1] for x in L]); w=np.where(y,1.,max(1,y.sum()/max(1,(~y).sum())*.5))
        A[:,1]=0
        wl=logistic(A,y,1.,w); z=A@wl
        # shift so that few pieces with beats are lost
        print(n,'pos',y.sum(),'neg',(~y).sum(),'hit',(z[y]>0).mean().round(3),'false',(z[~y]>0).mean().round(3),'wrong:',[(x[2],x[3]['t']['genre'],os.path.basename(x[3]['f']),round(float(v),1)) for x,v in zip(L,z) if (v>0)!=x[1]][:14],wl.round(2)); res[n]=wl
    pickle.dump(dict(nb=S[0]['o']['X'].shape[1],wq=wq,wj=wj,wt=wt,wd=wd,**res),open(ROOT+'/w.pkl','wb'))
    report('train',S,[predict(s,wq,wj) for s in S])
    bad=[(s,r) for s,r in zip(S,R) if r and s['kind'] in('steady','three') and not(r['down'])]
    for s,r in bad[:60]:
        t=s['d']['t'];o=s['o'];print('   ','/'.join(s['d']['f'].split('/')[-2:]),s['d']['cut'],t['genre'],t['tempo_bpm'],t['beats_per_bar'],'got',round(60/o['P'][r['i']],2),'beat',r['beat'],'pt',round(r['pt'],2),'pd',round(r['pd'],2),t.get('pk'),t.get('ps'),t.get('ph'),t.get('bass'),'jit',t.get('jit'))
