"""Demo sessions for fitting and trials: bounce and reference as FLAC with their truth.

usage: ROOT=DIR make_demo.py MAKE, where MAKE is a program that calls `cupel_demo::generate` with
FOLDER SEED STYLE SECONDS TEMPO SWING METRE DENSITY (`-`: as the style has it). Seeds from 1000
are kept for trials.
"""
import random,subprocess,shutil,os,sys,soundfile as sf,json
ROOT=os.environ['ROOT']; MAKE=sys.argv[1]
ST="house deep techno trance breaks dnb downtempo garage".split()
out=ROOT+'/a'
jobs=[]
for i in range(8):
    for st in ST: jobs.append((st,i+1))       # fit
    if i<6:
        for st in ST: jobs.append((st,1000+i))
for st,seed in jobs:
    d=f'{out}/{st}_{seed}'
    if os.path.exists(d+'/truth.json') and os.path.exists(d+'/reference.flac'): continue
    r=random.Random(f'{st}{seed}')
    tempo=swing='-';metre=4
    if seed%2==0:
        tempo=f'{r.uniform(60,200):.2f}'; swing=f'{r.choice([0.5,r.uniform(.5,.66)]):.2f}'; metre=3 if r.random()<.33 else 4
    secs=str(r.choice([70,100,150]))
    shutil.rmtree(ROOT+'/a_tmp',ignore_errors=True)
    subprocess.run(['nice','-n','10',MAKE,ROOT+'/a_tmp',str(seed),st,secs,tempo,swing,str(metre),f'{r.uniform(.3,1):.2f}'],check=True)
    os.makedirs(d,exist_ok=True)
    for m in('bounce','reference'):
        x,sr=sf.read(f'{ROOT}/a_tmp/{m}.wav',dtype='float32')
        sf.write(f'{d}/{m}.flac',x,sr,subtype='PCM_16')
    shutil.copy(ROOT+'/a_tmp/truth.json',d+'/truth.json')
    shutil.rmtree(ROOT+'/a_tmp',ignore_errors=True)
