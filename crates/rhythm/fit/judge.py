"""Scores the grid example on a set of files with truth.

usage: ROOT=DIR GRID=PROGRAM judge.py a|b|p fit|judge [-v]

$ROOT/a/STYLE_SEED: bounce and reference of demo sessions (make_demo.py); $ROOT/b: pieces of
second_generator.py; $ROOT/p/SEED: mixes of `cupel_demo::generate_mix`. Seeds below 1000 are for
fitting.
"""
import sys,os,glob,json,subprocess,random,numpy as np
ROOT=os.environ['ROOT']; GRID=os.environ.get('GRID','target/checked/examples/grid')
def items(which,split):
    out=[]
    if which=='a':
        for d in sorted(glob.glob(ROOT+'/a/*/truth.json')):
            d=os.path.dirname(d); seed=int(d.split('_')[-1])
            if (seed>=1000)!=(split=='judge'): continue
            t=json.load(open(d+'/truth.json'))
            for m in('bounce','reference'):
                r=t if m=='bounce' else t['reference']
                for cut in (0.,round(random.Random(d+m).uniform(1,10),3)):
                    q={k:r[k] for k in('tempo_bpm','beats_per_bar','first_downbeat_s','swing')}; q['first_downbeat_s']-=cut
                    q.update(kind='steady',haskick=True,genre=t['style'],seconds=r['mix']['seconds']-cut)
                    out.append((f'{d}/{m}.flac',cut,q))
    elif which=='p':
        for f in sorted(glob.glob(ROOT+'/p/*/truth.json')):
            d=os.path.dirname(f); seed=int(d.split('/')[-1])
            if (seed>=1000)!=(split=='judge'): continue
            t=json.load(open(f)); q={k:t[k] for k in('tempo_bpm','beats_per_bar','first_downbeat_s','swing')}
            q.update(genre=t['style'],seconds=t['mix']['seconds'])
            drift=bool(t.get('beats_s')) and np.std(np.diff(t['beats_s']))>1e-3
            q['kind']='beatless' if t.get('beatless') else 'drift' if drift else 'nokick' if not t.get('kick_times_s') else 'three' if q['beats_per_bar']==3 else 'steady'
            if drift:
                b=[x for x in t['beats_s'] if x>=-.01]; q['beats_s']=b
                q['bars_s']=[x['start_s'] for x in t['bars'] if x['start_s']>=-.01]; q['tempo_bpm']=float(60/np.median(np.diff(b)))
            out.append((d+'/mix.wav',0.,q))
    else:
        for f in sorted(glob.glob(f'{ROOT}/{which}/*.json')):
            seed=int(os.path.basename(f)[:-5])
            if (seed>=1000)!=(split=='judge'): continue
            t=json.load(open(f)); out.append((f[:-5]+'.flac',0.,t))
    return out
def run(its,args=()):
    groups={}
    for i,(f,c,t) in enumerate(its): groups.setdefault(c,[]).append(i)
    res=[None]*len(its)
    for c,ids in groups.items():
        p=subprocess.run([GRID,*args,'--skip',str(c)]+[its[i][0] for i in ids],capture_output=True,text=True)
        if p.returncode: print(p.stderr)
        for i,l in zip(ids,p.stdout.splitlines()): res[i]=json.loads(l)
    return res
def wrapd(x,p): return x-p*round(x/p)
def score(its,res,verbose=False,name=''):
    R=[]
    for (f,c,t),g in zip(its,res):
        d=dict(f=f,cut=c,t=t,g=g)
        k=t['kind']
        if k=='beatless': d['ok']=g['kind']=='CannotTell'; R.append(d); continue
        T=60/t['tempo_bpm']
        b=g['tempo_bpm']
        if k=='drift':
            tb=np.array(t['beats_s']);gb=np.array(g.get('beat_list') or [])
            if g['kind']=='Steady' and b: gb=np.arange(g['beat_offset_s'],t['seconds'],60/b)
            def F(x,y,tol):
                if not len(x) or not len(y): return 0
                m=(np.abs(x[:,None]-y[None]).min(1)<tol).mean();n=(np.abs(y[:,None]-x[None]).min(1)<tol).mean(); return 2*m*n/(m+n+1e-9)
            d['F']=F(tb,gb,.035); tbar=np.array(t['bars_s']);gbar=np.array(g.get('bar_list') or []); d['Fbar']=F(tbar,gbar,.035) if len(tbar) else 0
            d['tempo']=b is not None and abs(b/t['tempo_bpm']-1)<.04
            R.append(d); continue
        d['tempo']=b is not None and abs(b/t['tempo_bpm']-1)<.04
        d['err']=abs(b-t['tempo_bpm']) if d['tempo'] else None
        ph=None
        if b is not None and g['beat_offset_s'] is not None:
            # phase over the middle of the file, against the truth grid
            mid=t['seconds']/2
            if d['tempo']:
                k0=round((mid-g['beat_offset_s'])/(60/b)); ph=wrapd(g['beat_offset_s']+k0*60/b-t['first_downbeat_s'],T)
                if g['kind']=='Drifting': ph=wrapd(g['beat_offset_s']-t['first_downbeat_s'],T)
        d['ph']=ph
        d['phok']=ph is not None and abs(ph)<.010
        d['down']=False
        if g['first_downbeat_s'] is not None and d['tempo'] and g['beats_per_bar']==t['beats_per_bar']:
            e=wrapd(g['first_downbeat_s']-t['first_downbeat_s'],T*t['beats_per_bar']); d['down']=abs(e)<.03
        d['metre']=g['beats_per_bar']==t['beats_per_bar']
        d['sw']=abs(g['swing']-t['swing']) if g['swing'] is not None and d['tempo'] else None
        R.append(d)
    S=[d for d in R if d['t']['kind'] in('steady','three')]
    X=[d for d in R if d['t']['kind'] in('nokick','nodrums')]
    m=lambda v:round(float(np.mean(v)),3) if len(v) else None
    def rep(n,S):
        if not S: return
        st=np.array([d['g']['sure_tempo'] for d in S]);sd=np.array([d['g']['sure_downbeat'] for d in S])
        tp=np.array([d['tempo'] for d in S]);dn=np.array([d['down'] for d in S])
        e60=[d['err'] for d in S if d['err'] is not None and d['t']['seconds']>=60];e15=[d['err'] for d in S if d['err'] is not None and d['t']['seconds']<60]
        sw=[d['sw'] for d in S if d['sw'] is not None and d['t'].get('sixteenths',True)]
        pt=[d['phok'] for d in S if d['tempo']]
        ct=m([d['g']['kind']!='Steady' for d in S])
        print(f"{name} {n:8s} n={len(S)} tempo {m(tp)} phase {m([d['phok'] for d in S])} (given tempo {m(pt)}, within 3ms {m([d['ph'] is not None and abs(d['ph'])<.003 for d in S])}) down {m(dn)} metre {m([d['metre'] for d in S])} notsteady {ct} | err>60s >0.01: {sum(e>.01 for e in e60)}/{len(e60)} max {max(e60,default=0):.4f}; <60 >.05: {sum(e>.05 for e in e15)}/{len(e15)} | swing >.02: {sum(s>.02 for s in sw)}/{len(sw)} bias {m([d['g']['swing']-d['t']['swing'] for d in S if d['sw'] is not None and d['sw']<.05])}, none {sum(d['g']['swing'] is None and d['t'].get('sixteenths',True) for d in S)} | sure tempo share {m(st>=.9)} right {m(tp[st>=.9])}; down share {m(sd>=.9)} right {m(dn[sd>=.9])}")
    rep('steady',S)
    if X: rep('nokick',X)
    Dr=[d for d in R if d['t']['kind']=='drift']
    if Dr:
        print(f"{name} drift n={len(Dr)} listed {m([d['g']['kind']=='Drifting' for d in Dr])} steady {m([d['g']['kind']=='Steady' for d in Dr])} tempo {m([d['tempo'] for d in Dr])} F {m([d['F'] for d in Dr])} F>.9 {m([d['F']>.9 for d in Dr])} Fbar>.9 {m([d['Fbar']>.9 for d in Dr])} sure {m([d['g']['sure_tempo']>=.9 for d in Dr])} right {m([d['tempo'] for d in Dr if d['g']['sure_tempo']>=.9])}")
    Bl=[d for d in R if d['t']['kind']=='beatless']
    if Bl: print(f"{name} beatless n={len(Bl)} cannot tell {m([d['ok'] for d in Bl])} wrong:",[(os.path.basename(d['f']),d['t']['genre'],d['g']['kind'],round(d['g']['sure_tempo'],2)) for d in Bl if not d['ok']])
    if verbose:
        for d in S+X:
            if not(d['tempo'] and d['phok'] and d['down']):
                t,g=d['t'],d['g']
                print('  ','/'.join(d['f'].split('/')[-2:]),d['cut'],t['kind'],t['genre'],'true',t['tempo_bpm'],t['beats_per_bar'],'sw',t['swing'],'got',g['kind'],g['tempo_bpm'] and round(g['tempo_bpm'],2),g['beats_per_bar'],'ph',d['ph'] is not None and round(d['ph'],4),'in beats',d['ph'] is not None and round(d['ph']*t['tempo_bpm']/60,2),'down',d['down'],'sure',round(g['sure_tempo'],2),round(g['sure_downbeat'],2),'jit',t.get('jit'),t.get('pk'),t.get('ps'),t.get('ph'),t.get('bass'))
        for d in Dr: print('  ',os.path.basename(d['f']),d['t']['genre'],round(d['t']['tempo_bpm'],1),d['g']['kind'],d['g']['tempo_bpm'] and round(d['g']['tempo_bpm'],1),round(d['F'],2),round(d['Fbar'],2),round(d['g']['sure_tempo'],2))
    return R
if __name__=='__main__':
    which=sys.argv[1];split=sys.argv[2];v='-v' in sys.argv
    its=items(which,split); res=run(its); score(its,res,v,which+' '+split)
    print('cpu ms/300 s: meter',round(1e3*300*sum(r['meter_s'] for r in res)/sum(i[2]['seconds'] for i in its),1),'grid max',max(r['grid_s'] for r in res),'mean',np.mean([r['grid_s'] for r in res]))
