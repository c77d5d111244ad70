"""Drum sounds by role for second_generator.py: recorded one-shots of the Debian packages
hydrogen-drumkits and hydrogen-data, unpacked under $ROOT/samples/x."""
import glob,os,re,pickle,numpy as np,soundfile as sf
from scipy.signal import resample_poly
SR=44100
HERE=os.environ.get('ROOT','.')
ROOT=HERE+'/samples/x/usr/share/hydrogen/data/drumkits'
RULES=[('clap',r'clap|snap'),('hato',r'open|_op|ohh|op\b'),('kick',r'kick|bd[_0-9]|bassdrum|cajonthump|djembe\d bass|dununba1 head hit|_bd_|hse_k'),
('snare',r'snare|sn[0-9]?_|sidestick|rim'),('hat',r'hat|hh|closehi'),('shaker',r'shak|maraca|tambour|cabasa'),
('tom',r'tom|tm2?_|drum_'),('cymbal',r'crash|splash|cymbal|cra_|china'),('ride',r'ride|rd'),
('perc',r'cowbell|conga|bongo|clave|woodblock|waterglass|djembe|sangban|kenkeni|dununba|stick|agogo|cb2?_|bell|click|whistle|xfx|yfx')]
def load():
    p=HERE+'/bank.pkl'
    if os.path.exists(p): return pickle.load(open(p,'rb'))
    bank={}
    for f in sorted(glob.glob(ROOT+'/*/*')):
        if not f.endswith(('.wav','.flac','.aiff')): continue
        kit,n=f.split('/')[-2:]
        if kit.startswith('rumpf') : continue
        low=n.lower()
        if re.search(r'soft(est)?\.|empty|-0\.',low): continue
        role=next((r for r,x in RULES if re.search(x,low)),None)
        if role is None: continue
        try: x,sr=sf.read(f,dtype='float32',always_2d=True)
        except Exception: continue
        x=x.mean(1)
        if sr!=SR: x=resample_poly(x,SR//100,sr//100) if sr%100==0 else x
        x=x[:int(1.5*SR)]
        pk=np.abs(x).max()
        if pk<1e-3: continue
        x=x/pk
        start=max(0,np.argmax(np.abs(x)>0.03)-int(0.0005*SR))
        x=x[start:]
        e=np.cumsum(x[::-1]**2)[::-1]; end=np.argmax(e<1e-5*e[0]) or len(x)
        x=x[:max(end,200)].copy(); x[-100:]*=np.linspace(1,0,100)
        bank.setdefault(role,{}).setdefault(kit,[]).append((n,x))
    pickle.dump(bank,open(p,'wb'))
    return bank
if __name__=='__main__':
    b=load()
    for r in b: print(r,sum(len(v) for v in b[r].values()),{k:len(v) for k,v in b[r].items()})
