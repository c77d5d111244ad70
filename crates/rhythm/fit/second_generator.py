"""A second generator, unlike that of the demo crate.

usage: ROOT=DIR second_generator.py OUT FIRST LAST [KIND]. Writes SEED.flac and SEED.json with
its truth for the seeds FIRST..LAST-1. Seeds from 1000 use other drum kits and are kept for trials.
Needs numpy, scipy, soundfile.
"""
import sys,os,json,numpy as np,soundfile as sf
from scipy.signal import lfilter,butter,sosfilt
import drum_bank as bank
SR=44100
JUDGE_KITS={'TR808EmulationKit','GMRockKit','VariBreaks','ForzeeStereo','ElectricEmpireKit'}
BANK=bank.load()
def adsr(n,a,d,s,r):
    t=np.arange(n)/SR
    e=np.minimum(1,t/max(a,1e-4))*(s+(1-s)*np.exp(-np.maximum(0,t-a)/d))
    k=min(n,int(r*SR)+1); e[-k:]*=np.linspace(1,0,k); return e
def hp(x,f): return sosfilt(butter(2,f/(SR/2),'high',output='sos'),x)
def lp(x,f): return sosfilt(butter(2,min(f/(SR/2),.95),'low',output='sos'),x)
def bp(x,a,b): return sosfilt(butter(2,[a/(SR/2),min(b/(SR/2),.95)],'band',output='sos'),x)
class Kit:
    def __init__(s,r,judge):
        s.r=r;s.judge=judge;s.c={}
        s.syn=r.random()<.4
    def get(s,role):
        if role not in s.c: s.c[role]=s.make(role)
        v=s.c[role]; return v[s.r.integers(len(v))]
    def make(s,role):
        r=s.r
        if not s.syn or r.random()<.25:
            pool=[x for kit,v in BANK.get(role,{}).items() if (kit in JUDGE_KITS)==s.judge for x in v]
            if not pool: pool=[x for kit,v in BANK.get(role,{}).items() for x in v]
            x=pool[r.integers(len(pool))][1].astype(np.float64)
            if r.random()<.5:
                k=2**(r.uniform(-3,3)/12); x=np.interp(np.arange(0,len(x)-1,k),np.arange(len(x)),x)
            m=int(r.uniform(.08,1.2)*SR)
            if role in('hat','perc','kick','snare') and len(x)>m: x=x[:m]*adsr(m,0,9,1,.03)
            return [x]
        t=lambda d:np.arange(int(d*SR))/SR
        nz=lambda n:r.standard_normal(n)
        out=[]
        par=r.random(8)
        for _ in range(4 if role in('hat','snare','shaker') else 1):
            if role=='kick':
                T=t(.1+.5*par[0]);f0=38+25*par[1];ph=f0*T+ (60+250*par[2])*(.008+.03*par[3])*(1-np.exp(-T/(.008+.03*par[3])))
                x=np.sin(2*np.pi*ph)*np.exp(-T/(.05+.2*par[0]))*np.minimum(1,T/(.0005+.004*par[6]))
                x=np.tanh((1+4*par[4])*x)
                if par[5]>.4: x+=.5*par[5]*hp(nz(len(T)),2000)*np.exp(-T/.003)
            elif role=='snare':
                T=t(.35);x=.6*par[0]*np.sin(2*np.pi*(150+100*par[1])*T)*np.exp(-T/.06)+bp(nz(len(T)),400+600*par[2],5000+6000*par[3])*np.exp(-T/(.03+.12*par[4]))
            elif role=='clap':
                T=t(.35);e=np.exp(-T/(.04+.1*par[0]));x=bp(nz(len(T)),700,2500+4000*par[1])
                g=sum(np.where(T>k*.011*(.6+par[2]),np.exp(-np.maximum(0,T-k*.011*(.6+par[2]))/.006),0) for k in range(3)); x=x*(g+.6*e)
            elif role in('hat','shaker'):
                T=t(.12);x=hp(nz(len(T)),4000+5000*par[0])*np.exp(-T/(.008+.03*par[1]))
                if role=='shaker': x*=np.minimum(1,T/(.01+.02*par[2]))
                elif par[3]>.6: x=x+.4*hp(np.sign(np.sin(2*np.pi*(3000+2000*par[4])*T))+np.sign(np.sin(2*np.pi*(4270+2000*par[5])*T)),6000)*np.exp(-T/.03)
            elif role in('hato','ride'):
                T=t(.5);x=hp(nz(len(T)),4000+4000*par[0])*np.exp(-T/(.08+.15*par[1]))
            elif role=='cymbal':
                T=t(1.5);x=hp(nz(len(T)),3000)*np.exp(-T/(.5))
            elif role=='tom':
                T=t(.4);x=np.sin(2*np.pi*((80+120*par[0])*T+3*(1-np.exp(-T/.03))))*np.exp(-T/.12)
            else: # pitched percussion
                T=t(.3);f=300+1500*par[0];x=(np.sin(2*np.pi*f*T)+.5*np.sin(2*np.pi*f*2.76*T)*np.exp(-T/.02))*np.exp(-T/(.02+.1*par[1]))
            out.append(x/np.abs(x).max())
        return out
def osc(kind,f,n,r):
    t=np.arange(n)/SR
    if kind=='sine': return np.sin(2*np.pi*f*t)
    if kind=='tri': return sum((-1)**k*np.sin(2*np.pi*(2*k+1)*f*t)/(2*k+1)**2 for k in range(4))
    if kind=='saw':
        ph=(f*t+r.random())%1; return 2*ph-1
    if kind=='sq':
        ph=(f*t+r.random())%1; return np.where(ph<.5,1.,-1.)
    if kind=='pluck':  # karplus
        p=max(2,int(SR/f)); x=np.zeros(n); x[:p]=r.uniform(-1,1,min(p,n))
        return lfilter([1],np.r_[1,np.zeros(p-1),-.497,-.497],x)
    if kind=='fm': return np.sin(2*np.pi*f*t+2.5*np.exp(-t/.1)*np.sin(2*np.pi*2*f*t))
P16={ # kick, snare, hat patterns; each genre: tempo range
'four':dict(t=(110,150),kick=["x...x...x...x...","x...x...x...x..x","x...x...x.x.x...","x...x...x...x.x."],sn=["....x.......x...","................","....x.......x..x"],hat=["..x...x...x...x.","xxxxxxxxxxxxxxxx","x.x.x.x.x.x.x.x.","xxoxxxoxxxoxxxox","..o...o...o...o.","x.ox x.ox x.ox x.ox".replace(' ','')]),
'break':dict(t=(85,180),kick=["x.x.......x.....","x.x...x...xx....","x..x......x..x..","x.........x....."],sn=["....x..x.x..x...","....x.......x..x","....x..x.x..x..x","....x.......x..."],hat=["x.x.x.x.x.x.x.x.","x.x.x.xxx.x.x.x.","xxxxxxxxxxxxxxxx"]),
'dnb':dict(t=(160,182),kick=["x.........x.....","x.x.......x.....","x.......x.x....."],sn=["....x.......x...","....x..x.x..x..."],hat=["x.x.x.x.x.x.x.x.","xxxxxxxxxxxxxxxx","..x...x...x...x."]),
'half':dict(t=(125,165),kick=["x.............x.","x.....x.........","x..x......x.....","x.........x..x.."],sn=["........x......."],hat=["x.x.x.x.x.x.x.x.","xxxxxxxxxxxxxxxx","x.x.xxx.x.x.x.xx","x...x...x...x..."]),
'dembow':dict(t=(84,108),kick=["x...x...x...x..."],sn=["...x..x....x..x."],hat=["x.x.x.x.x.x.x.x.","xxxxxxxxxxxxxxxx","................"]),
'boom':dict(t=(68,104),kick=["x......x..x.....","x.......x.x.....","x..x...x..x.....","x.....x.x......."],sn=["....x.......x...","....x.......x..x"],hat=["x.x.x.x.x.x.x.x.","x.xxx.xxx.xxx.xx","xxxxxxxxxxxxxxxx"]),
'rock':dict(t=(84,170),kick=["x.......x.......","x.....x.x.......","x.......x.x.....","x.x.....x.x....."],sn=["....x.......x..."],hat=["x.x.x.x.x.x.x.x.","x...x...x...x..."]),
'garage':dict(t=(120,140),kick=["x.........x.....","x.....x...x.....","x.........x..x.."],sn=["....x.......x..."],hat=["..x...x...x...x.","..xx..x...xx..x.","x.xx..xxx.xx..xx"]),
'tresillo':dict(t=(95,130),kick=["x...x...x...x...","x..x..x.x..x..x."],sn=["x..x..x.x..x..x.","...x..x....x..x."],hat=["x.x.x.x.x.x.x.x.","..x...x...x...x."]),
'disco':dict(t=(100,132),kick=["x...x...x...x..."],sn=["....x.......x..."],hat=["..o...o...o...o.","x.o.x.o.x.o.x.o.","xxoxxxoxxxoxxxox"]),
'bare':dict(t=(60,200),kick=["x...x...x...x..."],sn=["................"],hat=["................","..x...x...x...x.","..o...o...o...o."]),
'sparse':dict(t=(70,140),kick=["x...............","x.......x.......","x.....x........."],sn=["....x.......x...","........x......."],hat=["................","x...x...x...x...","..x...x...x...x."]),
}
P12={'waltz':dict(t=(75,190),kick=["x...........","x.......x...","x.....x.....","x...x...x..."],sn=["....x...x...","........x...","....x......."],hat=["x.x.x.x.x.x.","xxxxxxxxxxxx","x...x...x...","....x...x..."]),
}
BASS={'off':"..x...x...x...x.",'roll':".xxx.xxx.xxx.xxx",'eight':"x.x.x.x.x.x.x.x.",'root':"x...............",'two':"x.......x.......",'beat':"x...x...x...x...",'sync':"x..x..x...x..x..",'kick':None,'sync2':"x.....x..x....x.",'off16':"..xx..xx..xx..xx",'oct':"x.x.x.x.x.x.x.x."}
def piece(seed,kind):
    judge=seed>=1000
    r=np.random.default_rng(seed*7+hash_kind(kind))
    kit=Kit(r,judge)
    names=list(P16); w=np.array([2.2,1.4,.9,.7,.5,1,1,.9,.5,.8,.7,.6])
    three=kind=='three'
    g='waltz' if three else names[r.choice(len(names),p=w/w.sum())]
    if kind=='nokick': g=r.choice(['four','boom','rock','sparse'])
    G=P12[g] if three else P16[g]
    metre=3 if three else 4; S=4*metre
    lo,hi=G['t']; 
    tempo=round(float(r.uniform(lo,hi)) if r.random()<.75 else float(np.clip(r.uniform(lo*.8,hi*1.25),60,200)),2 if r.random()<.7 else 0)
    tempo=min(200,max(60,tempo))
    swing=.5 if r.random()<.5 else round(float(r.uniform(.5,.667)),3)
    if g in('four','dnb','bare') and r.random()<.5: swing=.5
    seconds=float(r.choice([16,30,62,75,100,140],p=[.1,.1,.2,.25,.25,.1]))
    if kind=='drift': seconds=float(r.choice([40,70,110]))
    first=float(r.choice([0,r.uniform(0,.4),r.uniform(0,4)]))
    # cut: file starts in the middle of a bar
    beat=60/tempo; bar=metre*beat
    cut=bool(r.random()<.35); lead=first
    if cut: lead=-float(r.uniform(0,bar))
    N=int(seconds*SR); mono=np.zeros(N+3*SR)
    # warp of score time to seconds
    if kind=='drift':
        style=r.integers(4); T=np.arange(0,seconds+20,.01)
        if style==0: rate=1+r.uniform(.015,.06)*np.sin(2*np.pi*T/r.uniform(15,60)+r.uniform(0,6))
        elif style==1:
            wlk=np.cumsum(r.standard_normal(len(T)//100+2)); k=np.ones(5)/5; wlk=np.convolve(wlk,k,'same'); wlk=wlk/np.abs(wlk).max()*r.uniform(.02,.07); rate=1+np.interp(T,np.arange(len(wlk)),wlk)
        elif style==2: a=r.uniform(.06,.2)*r.choice([-1,1]); rate=1+a*(T/seconds-.5)
        else: rate=1+np.interp(T,np.sort(r.uniform(0,seconds,4)),r.uniform(-.05,.05,4))
        score=np.cumsum(rate)*.01
        warp=lambda x:np.interp(x,score,T)
    else: warp=lambda x:x
    jit=float(r.choice([0,0,.001,.003,.006]))
    if kind=='drift': jit=float(r.choice([0,.002,.005]))
    jk=jit*.5
    offs={k:(float(r.normal(0,.0025)) if r.random()<.3 else 0.) for k in('snare','hat','perc','bass','chord')}
    def when(b,s,j,off=0.):
        pair,odd=divmod(s,2)
        x=lead+b*bar+(pair+(swing if odd else 0))*beat/2
        return warp(x)+(r.normal(0,j) if j else 0)+off
    def put(x,at,gain,buf=None):
        buf=mono if buf is None else buf
        i=int(round(at*SR)); 
        if i>=len(buf): return
        if i<0:
            x=x[-i:]; i=0
            k=min(len(x),64)
            if k: x=x.copy(); x[:k]*=np.linspace(0,1,k)
        m=min(len(x),len(buf)-i)
        if m>0: buf[i:i+m]+=gain*x[:m]
    bars=int((seconds-lead)/bar)+ (3 if kind=='drift' else 1)
    tail=float(r.uniform(0,3)) if kind!='drift' else 0
    music=np.zeros_like(mono); kicks=[]
    drums=kind not in('nodrums',); haskick=kind in('steady','three','drift') and drums
    drum_db=float(r.choice([-4,0,3,6,10],p=[.15,.3,.25,.2,.1]))
    pk=r.choice(G['kick']);ps=r.choice(G['sn']);ph=r.choice(G['hat'])
    bname=r.choice(list(BASS),p=np.array([1.5,1,1.2,.8,.8,.8,1,1.5,1,.8,.8])/11.2)
    if metre==3: bname=r.choice(['root','beat','eight','kick','off'])
    bpat=(pk if BASS[bname] is None else BASS[bname])[:S] if bname!='off' or metre==4 else '..x...x...x.'
    root=int(r.integers(28,40)); scale=np.array([0,2,3,5,7,8,10] if r.random()<.7 else [0,2,4,5,7,9,11])
    prog=[int(r.integers(0,7)) for _ in range(4)]; prog[0]=0
    if r.random()<.2: prog=[0,0,0,0]
    per=int(r.choice([1,1,2])) # bars a chord
    note=lambda deg,octv:root+12*octv+scale[deg%7]+12*(deg//7)
    hz=lambda m:440*2**((m-69)/12)*2**(tune/1200)
    tune=float(r.uniform(-40,40)) if r.random()<.3 else 0.
    bosc=r.choice(['sine','tri','saw','sq','pluck','fm']); bcut=r.uniform(150,1500); batk=r.choice([.002,.005,.02])
    posc=r.choice(['saw','tri','sq']); patk=r.uniform(.05,.8); pcut=r.uniform(400,4000)
    cosc=r.choice(['saw','sq','pluck','fm','tri']); cpat=r.choice(["x..x..x...x..x..","..x...x...x...x.","x.......x.......","...x..x....x..x.","x.xx.xx.x.xx.xx."])[:S]
    losc=r.choice(['tri','fm','pluck','saw']); arp=r.random()<.4
    lev=dict(bass=r.uniform(.25,.6),pad=r.uniform(.05,.25),chord=r.uniform(.05,.25),lead=r.uniform(.05,.2))
    use={k:r.random()<p for k,p in dict(bass=.85,pad=.6,chord=.55,lead=.5,perc=.4,shaker=.3,crash=.6,fill=.6,ghost=.3).items()}
    if kind=='nodrums': use.update(bass=True,chord=True,lead=True)
    section=int(r.choice([4,8,8,16]))
    layers=['kick','snare','hat','bass','chord','pad','lead','perc']
    nsec=bars//section+1
    act=[]
    for s_ in range(nsec):
        a={k:r.random()<.85 for k in layers}
        if r.random()<.55: a['kick']=a['snare']=a['hat']=True
        act.append(a)
    if sum(a['kick'] for a in act)<.5*nsec:
        for a in act: a['kick']=True
    if kind in('drift',): 
        for a in act: a['hat']=a['snare']=True
    fillto=r.random(32)<.4
    vel=lambda c:{'x':1.,'o':1.}.get(c,0)
    ppat=''.join(r.choice(['x','.'],p=[.35,.65]) for _ in range(S)); crand=r.integers(0,7,size=S)
    gk=10**(drum_db/20)*.5; gs=gk*r.uniform(.4,1.1); gh=gk*r.uniform(.12,.8); gp=gk*r.uniform(.15,.5)
    hatacc=r.uniform(.3,1)
    plen=per*bar
    for b in range(bars):
        a=act[b//section]; last=b%section==section-1; fill=use['fill'] and last and metre==4
        if warp(lead+b*bar)>seconds-tail: break
        for s in range(S):
            t=lambda j=jit,off=0.:when(b,s,j,off)
            if drums:
                if pk[s]=='x' and haskick and a['kick'] and not(fill and s>=S-4 and fillto[0]):
                    x=t(jk); put(kit.get('kick'),x,gk*(1 if s==0 else r.uniform(.85,1))); kicks.append(x)
                if ps[s]=='x' and a['snare']: put(kit.get('snare' if g not in('four','disco','bare') else 'clap'),t(jit,offs['snare']),gs*(1 if s%4==0 else .5)*r.uniform(.9,1.05))
                elif use['ghost'] and a['snare'] and s%2==1 and r.random()<.08: put(kit.get('snare'),t(jit,offs['snare']),gs*.2)
                if ph[s] in 'xo' and a['hat']: put(kit.get('hat' if ph[s]=='x' else 'hato'),t(jit,offs['hat']),gh*(1 if s%4==2 or ph[s]=='o' else hatacc)*(.55 if s%2 else 1)*r.uniform(.8,1.1))
                if fill and s>=S-4 and fillto[1+s%8]: put(kit.get('tom' if fillto[20] else 'snare'),t(),gs*.7)
                if use['perc'] and a['perc'] and ppat[s]=='x': put(kit.get('perc'),t(jit,offs['perc']),gp*r.uniform(.6,1))
                if use['shaker'] and a['hat']: put(kit.get('shaker'),t(jit,offs['hat']),gh*.5*(1 if s%4==0 else .6))
                if use['crash'] and s==0 and b%section==0: put(kit.get('cymbal'),t(0),gh*.9)
            deg=prog[(b//per)%4]
            if use['bass'] and a['bass'] and bpat[s]=='x':
                o=12 if bname=='oct' and s%4==2 else 0
                n=int(beat/4*SR*(3.5 if bpat.count('x')<3 else 1.3)); e=adsr(n,batk,.15,.5,.02)
                x=lp(osc(bosc,hz(note(deg,0)+o),n,r)*e,bcut); put(x/(np.abs(x).max()+1e-9),t(jit,offs['bass']),lev['bass'],music)
            if use['chord'] and a['chord'] and cpat[s%len(cpat)]=='x':
                n=int(beat*SR*.45); e=adsr(n,.004,.08,.3,.02)
                x=sum(osc(cosc,hz(note(deg+k,2)),n,r) for k in(0,2,4))*e; put(x/3,t(jit,offs['chord']),lev['chord'],music)
            if use['lead'] and a['lead'] and (arp or (r.random()<.3 and s%2==0)):
                n=int(beat*SR*.3); x=osc(losc,hz(note(deg+int(crand[s] if arp else r.integers(0,7)),3)),n,r)*adsr(n,.004,.1,.4,.02); put(x,t(),lev['lead'],music)
        if use['pad'] and a['pad'] and b%per==0:
            deg=prog[(b//per)%4]
            n=int((plen+.3)*SR); e=adsr(n,patk,5,1,.3)
            x=sum(osc(posc,hz(note(deg+k,1))*(1+.003*d),n,r) for k in(0,2,4,7) for d in(-1,1))*e/8
            put(lp(x,pcut),warp(lead+b*bar),lev['pad']*2,music)
    if kicks and r.random()<.5: # sidechain
        duck=np.ones_like(music); depth=r.uniform(.3,.95); rel=r.uniform(.08,.3)
        shape=1-depth*np.exp(-np.arange(int(beat*SR))/SR/rel)
        for k in kicks:
            i=max(0,int(k*SR)); m=min(len(shape),len(duck)-i)
            if m>0: duck[i:i+m]=np.minimum(duck[i:i+m],shape[:m])
        music*=duck
    x=mono+music
    if r.random()<.3: # reverb
        n=int(r.uniform(.3,1.5)*SR); ir=r.standard_normal(n)*np.exp(-np.arange(n)/SR/r.uniform(.1,.4)); ir/=np.sqrt((ir**2).sum())
        from scipy.signal import fftconvolve
        x=x+r.uniform(.05,.25)*fftconvolve(hp(x,200),ir)[:len(x)]
    if r.random()<.2: x=x+10**(r.uniform(-60,-40)/20)*r.standard_normal(len(x))
    x=x[:N]; x=x/np.abs(x).max()
    if r.random()<.25: # fade in / out
        k=int(r.uniform(2,12)*SR); k=min(k,N//2); x[:k]*=np.linspace(0,1,k)**r.choice([1,2])
    if r.random()<.5: x=np.tanh(x*10**(r.uniform(0,12)/20))
    if tail==0 and r.random()<.3: pass
    x*=.9/np.abs(x).max()
    t=dict(kind=kind,genre=g,tempo_bpm=tempo,beats_per_bar=metre,first_downbeat_s=lead,swing=swing,haskick=bool(haskick),nkicks=len(kicks),drum_db=drum_db,jit=jit,seconds=seconds,
           sixteenths=bool(any(c in 'xo' for c in ph[1::2])) , syn=bool(kit.syn),bass=str(bname),pk=str(pk),ps=str(ps),ph=str(ph),use={k:bool(v) for k,v in use.items()})
    if kind=='drift':
        k=np.arange(-8,int((seconds-lead)/beat)+8); bt=warp(lead+k*beat)
        lastb=seconds-tail
        ok=(bt>=-.01)&(bt<lastb); t['beats_s']=[float(v) for v in bt[ok]]; t['bars_s']=[float(v) for v,kk in zip(bt[ok],k[ok]) if kk%metre==0 and kk>=0]
        g_=np.diff(t['beats_s']); t['tempo_bpm']=float(60/np.median(g_))
    return x,t
def beatless(seed):
    r=np.random.default_rng(seed*7+99)
    T=float(r.uniform(20,90)); N=int(T*SR); t=np.arange(N)/SR; x=np.zeros(N+8*SR)
    k=r.choice(['strings','pad','voice','white','waves','drone','crackle','choir','windy','padgrid'])
    if k in('strings','pad','choir','padgrid'):
        at=0.
        root=r.integers(36,50)
        L0=r.uniform(1.5,4)
        while at<T:
            L=r.uniform(2,7) if k!='padgrid' else L0
            n=int((L+1)*SR); tt=np.arange(n)/SR
            for m in r.choice([0,3,5,7,10,12,15,19],4,replace=False):
                f=440*2**((root+m-69)/12)
                for d in range(3 if k!='pad' else 2):
                    vib=1+ (.004*np.sin(2*np.pi*r.uniform(4.5,6.5)*tt+r.uniform(0,6)) if k!='pad' else 0)
                    ph=np.cumsum(f*(1+.004*r.standard_normal())*vib)/SR
                    s=2*(ph%1)-1
                    if k=='strings' and r.random()<.4: s*=1+.5*np.sin(2*np.pi*r.uniform(5,8)*tt) # bow tremolo
                    e=adsr(n,r.uniform(.05,1.2),9,1,r.uniform(.2,1))
                    i=int(at*SR); m_=min(n,len(x)-i); x[i:i+m_]+=(s*e)[:m_]*.05
            at+=L
        x=lp(x,r.uniform(800,6000))
    elif k=='voice':
        at=.3
        while at<T:
            n=int(r.uniform(.08,.5)*SR); tt=np.arange(n)/SR
            f=r.uniform(90,260)*(1+r.uniform(-.15,.15)*tt/tt[-1])
            src=2*((np.cumsum(f)/SR)%1)-1
            s=sum(bp(src,c*.85,c*1.15)*g for c,g in zip((r.uniform(300,900),r.uniform(900,2200),r.uniform(2300,3200)),(1,.6,.3)))
            if r.random()<.5:
                c=int(r.uniform(.02,.1)*SR); i=int(at*SR); y=hp(r.standard_normal(c),3000)*np.hanning(c)*.1; x[i:i+c]+=y; at+=c/SR*.7
            i=int(at*SR); m_=min(n,len(x)-i); x[i:i+m_]+=(s*adsr(n,.02,9,1,.04))[:m_]
            at+=n/SR+(r.uniform(.2,.9) if r.random()<.2 else r.uniform(0,.06))
    elif k=='white': x=r.standard_normal(len(x))*.1; 
    elif k in('waves','windy'):
        y=r.standard_normal(len(x)); y=lp(y,r.uniform(300,3000)); m=np.interp(np.arange(len(x)),np.arange(0,len(x)+SR,SR//2),np.convolve(r.random(len(range(0,len(x)+SR,SR//2))),np.ones(5)/5,'same')); x=y*m
    elif k=='drone': x=sum(np.sin(2*np.pi*f*np.arange(len(x))/SR+r.uniform(0,6)) for f in r.uniform(60,900,6))
    elif k=='crackle':
        n=int(T*r.uniform(2,30))
        for i in r.integers(0,N,n): m=int(r.uniform(.0005,.01)*SR); x[i:i+m]+=r.standard_normal(m)*r.exponential(.3)*np.exp(-np.arange(m)/(.3*m))
        x+=1e-3*r.standard_normal(len(x))
    x=x[:N]; f=int(.5*SR); x[-f:]*=np.linspace(1,0,f); x=x/np.abs(x).max()*.7
    return x,dict(kind='beatless',genre=str(k),seconds=T)
def hash_kind(k): return sum(map(ord,k))*131
KINDS=['steady','steady','steady','steady','steady','three','drift','beatless','steady','nokick','steady','three','steady','drift','nodrums','steady']
if __name__=='__main__':
    out,a,b=sys.argv[1],int(sys.argv[2]),int(sys.argv[3]); only=sys.argv[4] if len(sys.argv)>4 else None
    os.makedirs(out,exist_ok=True)
    for seed in range(a,b):
        if os.path.exists(f'{out}/{seed}.json'): continue
        kind=only or KINDS[seed%16]
        x,t=beatless(seed) if kind=='beatless' else piece(seed,kind)
        sf.write(f'{out}/{seed}.flac',x,SR,subtype='PCM_16')
        json.dump(t,open(f'{out}/{seed}.json','w'))
