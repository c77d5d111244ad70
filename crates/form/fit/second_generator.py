"""Arrangements of random section lengths, with sounds unlike those of the crate `demo`.

`second_generator.py FROM TO FOLDER` writes FOLDER/SEED/tracks/*.wav, record.wav (limited to about
-9 LUFS) and truth.json for every seed. False drops, loud outros, fills, layers that come in the middle of a
section, drops that differ by one layer, odd lengths in one section of eight.
"""
import json, os, sys
import numpy as np, scipy.signal as sg, scipy.ndimage as nd, soundfile as sf
SR=32000
def env(n,a,d): # attack s, decay time-constant s
    t=np.arange(n)/SR; return np.minimum(1,t/max(a,1e-4))*np.exp(-t/d)
def bp(x,lo,hi,order=2):
    lo=max(lo,20); hi=min(hi,SR/2*.98)
    return sg.sosfilt(sg.butter(order,[lo,hi],'band',fs=SR,output='sos'),x)
def lp(x,f): return sg.sosfilt(sg.butter(2,min(f,SR*.49),fs=SR,output='sos'),x)
def hp(x,f): return sg.sosfilt(sg.butter(2,f,'high',fs=SR,output='sos'),x)
def hz(n): return 440*2**((n-69)/12)
class G:
    def __init__(s,seed):
        s.r=r=np.random.default_rng(seed+77000); s.seed=seed
        s.bpm=float(r.choice([r.integers(86,112),r.integers(115,135),r.integers(120,150),r.integers(160,178)],p=[.15,.45,.25,.15]))
        s.bpb=4; s.beat=60/s.bpm; s.bar=4*s.beat
        s.swing=float(r.choice([.5,.5,.5,r.uniform(.53,.62)])); s.off=float(r.choice([0,0,r.uniform(.02,.6)]))
        s.four=bool(s.bpm<155 and r.random()<.75)
        s.key=int(r.integers(0,12)); s.minor=r.random()<.75
        s.sections=s.arrange(); s.bars=sum(x['bars'] for x in s.sections)
        s.tail=float(r.uniform(.3,4)); s.n=int((s.off+s.bars*s.bar+s.tail)*SR)
        s.layout()
    # --- arrangement
    def L(s,choices,p=None):
        n=int(s.r.choice(choices,p=p))
        if s.seed%1000>=19 and s.seed%2: n=max(2,n//2)
        u=s.r.random()
        if u<.04: n+=int(s.r.choice([-1,1]))
        elif u<.12: n+=int(s.r.choice([-2,2]))
        return max(2,n)
    def arrange(s):
        r=s.r; out=[]
        def add(name,bars,**k): out.append(dict(name=name,bars=bars,**k))
        add('intro',s.L([4,8,12,16,24,32],[.12,.3,.12,.3,.08,.08]),kind=r.choice(['drums','pad','kick','full drums']))
        if r.random()<.5: add('build',s.L([4,8,16],[.35,.5,.15]))
        nd=int(r.choice([1,2,3],p=[.15,.7,.15]))
        if r.random()<.25:
            add('break',s.L([4,8,16]),kind=r.choice(['pad','drums']))
            if r.random()<.6: add('build',s.L([4,8]))
        for i in range(nd):
            add('drop',s.L([8,12,16,24,32],[.2,.15,.4,.1,.15]))
            if i<nd-1:
                add('break',s.L([4,8,12,16,24,32],[.15,.35,.15,.25,.05,.05]),kind=r.choice(['pad','drums','light']))
                if r.random()<.75: add('build',s.L([2,4,8,16],[.1,.4,.4,.1]))
                if r.random()<.25: # false drop
                    add('break',s.L([2,4,8],[.2,.5,.3]),kind='false')
                    if r.random()<.7: add('build',s.L([4,8]))
        add('outro',s.L([2,4,8,16,32],[.1,.2,.35,.25,.1]),kind=r.choice(['loud','drums','pad']))
        return out
    DR=['kick','clap','hat','ohat','shaker','ride','perc']
    LO=['sub','bass']
    HA=['pad','stab','arp','lead','vox','pluck','strings']
    def layout(s):
        r=s.r
        have=[x for x in s.DR if x=='kick' or r.random()<.8]+[x for x in s.LO if r.random()<.85]
        if not('sub' in have or 'bass' in have): have.append('bass')
        ha=[x for x in s.HA if r.random()<.75]
        while len(ha)<3: ha=[x for x in s.HA if r.random()<.75]
        have+=ha; s.have=have
        pick=lambda xs,p:[x for x in xs if x in have and r.random()<p]
        core=set(x for x in have if x in ('kick','clap','hat','sub','bass') or r.random()<.8)
        play={x:np.zeros(s.bars) for x in have}
        at=0; prev=None; maxl=0; first_drop=None
        for q in s.sections:
            for tries in range(200):
                name,kind=q['name'],q.get('kind')
                if name=='intro':
                    S={'drums':pick(s.DR,.5)+['kick'],'full drums':pick(s.DR,.9)+['kick'],'kick':['kick']+pick(['hat','perc','shaker'],.3)+pick(['pad'],.4),'pad':pick(s.HA,.4)+pick(['shaker','perc'],.3)}[kind]
                elif name=='build': S=pick(['kick','clap','hat','shaker','perc','ride'],.5)+pick(s.HA,.6)+pick(s.LO,.25)
                elif name=='drop':
                    if first_drop is not None and r.random()<.5:
                        S=list(first_drop); x=r.choice(have)
                        if x in S and x not in('kick','bass','sub'): S.remove(x)
                        elif x not in S: S.append(x)
                    else: S=list(core)+[x for x in have if x not in core and r.random()<.4]
                elif name=='break':
                    S={'pad':pick(s.HA,.55),'light':pick(s.HA,.5)+pick(['hat','shaker','perc','clap'],.35)+pick(s.LO,.3),'drums':pick(s.DR,.6)+pick(s.HA,.25),'false':pick(s.HA,.4)+pick(['kick','clap'],.4)}[kind]
                elif name=='outro':
                    S={'loud':pick(s.DR,.9)+['kick']+pick(s.LO,.6)+pick(s.HA,.15),'drums':pick(s.DR,.6)+['kick'],'pad':pick(s.HA,.4)}[kind]
                S=set(x for x in S if x in have)
                if not S: continue
                if prev is not None:
                    diff=S^prev
                    w=sum({'kick':2,'sub':1.5,'bass':1.5,'clap':1,'pad':1,'strings':1}.get(x,.7) for x in diff)
                    if len(diff)<3 or w<3: continue
                if name!='drop' and first_drop is not None and len(S)>len(first_drop)-2: continue
                break
            if name=='drop' and first_drop is None: first_drop=set(S)
            for x in S: play[x][at:at+q['bars']]=1
            # entries within the section, one or two small layers
            n=q['bars']
            if n>=8 and r.random()<.5:
                small=[x for x in S if x not in('kick','bass','sub')] 
                for x in r.permutation(small)[:int(r.choice([1,1,2]))]:
                    k=int(r.choice([n//2//4*4 or 4, 4, n//4*2//4*4 or 4]))
                    if r.random()<.75: play[x][at:at+k]=0
                    else: play[x][at+n-k:at+n]=0
            q['start']=at; q['layers']=sorted(S); q['nl']=len(S)
            at+=n; prev=S
        s.play=play
    # --- sound
    def shots(s):
        r=s.r; S={}
        n=int(.45*SR); t=np.arange(n)/SR
        f=r.uniform(42,58)+r.uniform(80,300)*np.exp(-t/r.uniform(.012,.04))
        k=np.sin(2*np.pi*np.cumsum(f)/SR)*np.exp(-t/r.uniform(.09,.22))+.3*hp(r.standard_normal(n),2000)*np.exp(-t/.004)
        S['kick']=np.tanh(k*r.uniform(1,2.5))
        n=int(.4*SR); x=bp(r.standard_normal(n),r.uniform(700,1300),r.uniform(3000,8000)); S['clap']=x*env(n,.001,r.uniform(.04,.12))+.5*np.sin(2*np.pi*r.uniform(170,230)*np.arange(n)/SR)*env(n,.001,.06)*r.choice([0,1])
        n=int(.12*SR); S['hat']=hp(r.standard_normal(n),r.uniform(5000,8500))*env(n,.0005,r.uniform(.012,.04))
        n=int(.35*SR); S['ohat']=hp(r.standard_normal(n),r.uniform(4500,7500))*env(n,.001,r.uniform(.08,.16))
        n=int(.12*SR); S['shaker']=bp(r.standard_normal(n),r.uniform(3500,5500),r.uniform(9000,14000))*env(n,.02,.03)
        n=int(.6*SR); S['ride']=sum(np.sin(2*np.pi*f0*np.arange(n)/SR+r.uniform(0,6)) for f0 in r.uniform(3500,11000,14))*env(n,.001,r.uniform(.15,.3))*.3
        n=int(.25*SR); S['perc']=np.sin(2*np.pi*np.cumsum(r.uniform(180,900)*(1+.5*np.exp(-np.arange(n)/SR/.02)))/SR)*env(n,.001,r.uniform(.04,.1))
        n=int(2.5*SR); S['crash']=hp(r.standard_normal(n),3000)*env(n,.002,r.uniform(.4,1.))
        return {k:v.astype(np.float32) for k,v in S.items()}
    def tone(s,note,dur,kind):
        r=s.r; key=(note,round(dur,3),kind)
        if key in s.cache: return s.cache[key]
        n=int((dur+.15)*SR); t=np.arange(n)/SR; f=hz(note)
        rel=np.clip((dur+.15-t)/.15,0,1)
        if kind=='sub': x=np.sin(2*np.pi*f*t)*rel*np.minimum(1,t/.01)
        elif kind=='bass': x=lp(sg.sawtooth(2*np.pi*f*t),s.p['bassf'])*rel*np.exp(-t/s.p['bassd'])
        elif kind in('pad','strings'):
            x=sum(sg.sawtooth(2*np.pi*f*(1+d)*t+r.uniform(0,6)) for d in(-.004,.003,0.0007)); x=lp(x,s.p[kind])*rel*np.minimum(1,t/.25)
        elif kind=='stab': x=lp(sg.square(2*np.pi*f*t),s.p['stab'])*rel*np.exp(-t/.15)
        elif kind in('arp','pluck'): x=lp(sg.sawtooth(2*np.pi*f*t,.5 if kind=='pluck' else 1),s.p[kind])*np.exp(-t/.12)
        elif kind=='lead': x=(np.sin(2*np.pi*f*t+2*np.sin(2*np.pi*2*f*t)*np.exp(-t/.2)))*rel*np.minimum(1,t/.01)
        elif kind=='vox':
            x=sg.sawtooth(2*np.pi*f*t*(1+.003*np.sin(2*np.pi*5*t))); x=sum(bp(x,c*.9,c*1.1,1) for c in(r.choice([350,600,750]),r.choice([1000,1700,2200]),2800))*rel*np.minimum(1,t/.05)
        x=x.astype(np.float32); s.cache[key]=x; return x
    def render(s):
        r=s.r; s.cache={}; S=s.shots()
        s.p=dict(bassf=r.uniform(250,1500),bassd=r.uniform(.15,.8),pad=r.uniform(600,4000),strings=r.uniform(2000,7000),stab=r.uniform(1200,6000),arp=r.uniform(1500,7000),pluck=r.uniform(1500,8000))
        tr={x:np.zeros((2 if x in('pad','strings') else 1,s.n+SR*3),np.float32) for x in s.have+['fx']}
        pan={x:float(r.uniform(-.5,.5)) if x not in('kick','sub','bass','clap','fx') else 0. for x in tr}
        def put(x,t,snd,g=1.,side=0):
            i=int(round(t*SR)); 
            if i<0: snd=snd[-i:]; i=0
            e=min(i+len(snd),s.n+SR*3); p=pan[x]+side
            if len(tr[x])==1: tr[x][0,i:e]+=snd[:e-i]*np.float32(g); return
            tr[x][0,i:e]+=snd[:e-i]*g*(1-max(0,p)); tr[x][1,i:e]+=snd[:e-i]*g*(1+min(0,p))
        six=s.beat/4
        def T(bar,step): 
            return s.off+bar*s.bar+(step//2)*2*six+(2*six*s.swing if step%2 else 0)
        deg=[0,2,3,5,7,8,10] if s.minor else [0,2,4,5,7,9,11]
        prog=[int(x) for x in r.choice(7,4)]; prog[0]=0; per=int(r.choice([1,1,2]))
        chord=lambda b: prog[(b//per)%len(prog)]
        note=lambda d,o: s.key+12*o+deg[d%7]+12*(d//7)
        kp=[0,4,8,12] if s.four else [int(x) for x in ([0,10] if r.random()<.5 else [0,6,10])]
        cp=[4,12] if r.random()<.8 else [8]
        hp_=[x for x in range(16) if r.random()<.6] ; op=[2,6,10,14] if r.random()<.6 else [6,14]
        shp=list(range(16)) if r.random()<.6 else list(range(0,16,2)); rp=[0,2,4,6,8,10,12,14] if r.random()<.5 else [0,4,8,12]
        pp=sorted(r.choice(16,int(r.integers(2,6)),replace=False).tolist()); bpat=sorted(r.choice(16,int(r.integers(3,9)),replace=False).tolist())
        stp=sorted(r.choice(16,int(r.integers(2,5)),replace=False).tolist()); arpn=int(r.choice([1,2])); lp_=[(sorted(r.choice(16,int(r.integers(3,7)),replace=False).tolist())) for _ in range(2)]
        ld=[[int(x) for x in r.integers(0,7,8)] for _ in range(2)]; vp=[[sorted(r.choice([0,2,4,6,8,10,12],int(r.integers(2,4)),replace=False).tolist()) for _ in range(2)]][0]
        s.kicks=[]
        for q in s.sections:
            a,n=q['start'],q['bars']; nxt=s.sections[s.sections.index(q)+1] if q is not s.sections[-1] else None
            fill_every=int(r.choice([4,8,8,1000])); gap=q['name']=='build' and r.random()<.6 or r.random()<.15; gaplen=int(r.choice([4,8,14])) 
            for b in range(a,a+n):
                on=lambda x: x in s.play and s.play[x][b]
                last=b==a+n-1; fill=(last and r.random()<.6) or ((b-a+1)%fill_every==0 and r.random()<.7); cut=16-gaplen if (gap and last) else 99
                v=lambda: 1+.06*r.standard_normal()
                if on('kick'):
                    for st in kp:
                        if st>=cut or (fill and st>=12 and r.random()<.3): continue
                        put('kick',T(b,st),S['kick'],v()); s.kicks.append(T(b,st))
                if on('clap'):
                    for st in cp:
                        if st<cut: put('clap',T(b,st),S['clap'],v())
                    if fill:
                        for st in range(10,16,int(r.choice([1,2]))): put('clap',T(b,st),S['clap'],.5*v())
                if q['name']=='build' and q.get('roll',None) is None: q['roll']=bool(r.random()<.6)
                if q.get('roll') and 'clap' in tr:
                    f=(b-a)/max(1,n); stp_=4 if f<.5 else 2 if f<.75 else 1
                    for st in range(0,16,stp_):
                        if st<cut: put('clap',T(b,st),S['clap'],(.3+.5*(b-a+st/16)/n)*v())
                for x,pat,sh in(('hat',hp_,'hat'),('ohat',op,'ohat'),('shaker',shp,'shaker'),('ride',rp,'ride'),('perc',pp,'perc')):
                    if on(x):
                        for st in pat:
                            if st<cut and not(fill and r.random()<.15): put(x,T(b,st),S[sh],v()*(1 if st%4==0 or x!='hat' else .7))
                        if fill and x=='perc' and r.random()<.5:
                            for st in range(8,16): put(x,T(b,st),S[sh],.8*v())
                root=chord(b)
                stop=(cut*six if cut<99 else 99)
                if on('sub'): put('sub',T(b,0),s.tone(note(root,3),min(s.bar*.95,stop),'sub'))
                if on('bass'):
                    for st in bpat:
                        if st<cut: put('bass',T(b,st),s.tone(note(root,3)+(12 if (st*7+b)%5==0 else 0),six*1.6,'bass'),v())
                ch=[note(root+i,5) for i in(0,2,4)]
                for x in('pad','strings'):
                    if on(x):
                        for i,nn in enumerate(ch): put(x,T(b,0),s.tone(nn+(12 if x=='strings' else 0),min(s.bar,stop),x),1,(-.4,0,.4)[i])
                if on('stab'):
                    for st in stp:
                        if st<cut:
                            for nn in ch: put('stab',T(b,st),s.tone(nn,six*1.5,'stab'),v())
                if on('arp'):
                    for i,st in enumerate(range(0,16,arpn)):
                        if st<cut: put('arp',T(b,st),s.tone(ch[i%3]+12*(i%2),six,'arp'),v())
                if on('pluck'):
                    for i,st in enumerate(stp+[15]):
                        if st<cut: put('pluck',T(b,st),s.tone(ch[(i*2)%3]+12,six,'pluck'),v())
                if on('lead'):
                    for i,st in enumerate(lp_[b%2]):
                        if st<cut: put('lead',T(b,st),s.tone(note(ld[b%2][i],6),six*2,'lead'),v())
                if on('vox') and b%4!=3:
                    for i,st in enumerate(vp[b%2]):
                        if st<cut: put('vox',T(b,st),s.tone(note(ld[b%2][i],5),six*3,'vox'),v())
            # effects
            t0=s.off+a*s.bar
            if a>0 and r.random()<(.75 if q['name'] in('drop','break') else .4): put('fx',t0,S['crash'],r.uniform(.3,1))
            if q['name']=='build' and r.random()<.8:
                m=int(min(n,8)*s.bar*SR); ramp=np.linspace(0,1,m); x=r.standard_normal(m); y=np.zeros(m)
                for i,c in enumerate((400,1000,2500,6000)): y+=bp(x,c*.6,c*1.6)*np.clip(1-abs(ramp*3-i),0,1)
                put('fx',s.off+(a+n)*s.bar-m/SR,(y*ramp**2).astype(np.float32),r.uniform(.5,1.5))
            if q['name']=='build' and r.random()<.5: q['sweep']=True
        # sidechain
        duck=np.ones(s.n+SR*3,np.float32); depth=r.choice([0,.5,.8])
        for t in s.kicks:
            i=int(t*SR); m=min(int(.25*SR),len(duck)-i); duck[i:i+m]=np.minimum(duck[i:i+m],1-depth*(1-np.arange(m)/m))
        for x in('pad','strings','bass','sub','stab','arp'):
            if x in tr: tr[x]*=duck
        # rising high-pass / opening filter in builds
        for q in s.sections:
            if q.get('sweep'):
                a=int((s.off+q['start']*s.bar)*SR); e=int((s.off+(q['start']+q['bars'])*s.bar)*SR)
                ramp=np.linspace(0,1,e-a); up=r.random()<.5
                for x in('kick','bass','pad','strings','stab','arp'):
                    if x in tr and np.any(tr[x][:,a:e]):
                        y=tr[x][:,a:e]; f=np.stack([hp(c,500) if up else lp(c,500) for c in y]); w=ramp if up else 1-ramp
                        tr[x][:,a:e]=y*(1-w)+f*w
        # levels
        base=dict(kick=-12,clap=-19,hat=-26,ohat=-25,shaker=-28,ride=-28,perc=-23,sub=-17,bass=-17,pad=-23,strings=-25,stab=-22,arp=-24,pluck=-24,lead=-21,vox=-21,fx=-27)
        for x in list(tr):
            y=tr[x][:,:s.n]; frames=y[:, :len(y[0])//4800*4800].reshape(len(y),-1,4800); e=np.einsum('cft,cft->f',frames,frames)/4800/len(y); e=e[e>1e-9]
            if e.size==0: tr.pop(x); continue
            y*=np.float32(10**((base[x]+2.5*r.standard_normal())/20)/np.sqrt(np.quantile(e,.8)))
            if len(y)==1: p=pan[x]; y=np.stack([y[0]*np.float32(1-max(0,p)),y[0]*np.float32(1+min(0,p))])
            tr[x]=y
        return tr
def master(mix,r):
    target=r.uniform(-11,-8)
    def lufs(y): # near enough: high-passed level of the louder half
        z=y[:,::2]; z=z-nd.uniform_filter1d(z,64,axis=1); f=z[:,:z.shape[1]//6400*6400].reshape(2,-1,6400); e=np.einsum('cft,cft->f',f,f)/6400; return 10*np.log10(e[e>np.quantile(e,.3)].mean())
    y=mix*np.float32(10**((target+1-lufs(mix))/20))
    for _ in range(2):
        if r.random()<.7: y=np.tanh(y*np.float32(.8))*np.float32(1.27)
        pk=np.abs(y).max(0); g=1/np.maximum(1,pk/.9); g=nd.minimum_filter1d(g,int(.03*SR)); g=nd.uniform_filter1d(g,int(.03*SR)); y=y*g
        y*=np.float32(10**((target-lufs(y))/20))
    return np.clip(y,-.98,.98)
def main(seed,folder):
    d=f'{folder}/{seed}'; os.makedirs(d+'/tracks',exist_ok=True)
    g=G(seed); tr=g.render(); mix=sum(tr.values()); pk=np.abs(mix).max()
    for x,y in tr.items(): sf.write(f'{d}/tracks/{x}.wav',(y*.7/pk).T,SR,subtype='PCM_16')
    sf.write(d+'/record.wav',master(mix,g.r).T,SR,subtype='PCM_16')
    secs=[dict(name=q['name'],start_s=g.off+q['start']*g.bar,end_s=g.off+(q['start']+q['bars'])*g.bar,busiest=q['name']=='drop') for q in g.sections]
    json.dump(dict(tempo_bpm=g.bpm,beats_per_bar=4,first_downbeat_s=g.off,swing=g.swing,sections=secs),open(d+'/truth.json','w'))
if __name__=='__main__':
    for seed in range(int(sys.argv[1]),int(sys.argv[2])): main(seed,sys.argv[3])
