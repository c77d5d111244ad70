"""Feature rows of files for fit.py.

usage: ROOT=DIR [PART=0/2] dump.py GRID OUT a|b|p fit
"""
import sys,os,json,subprocess,pickle,numpy as np
import judge as J
GRID=sys.argv[1]; OUT=sys.argv[2]; which=sys.argv[3]; split=sys.argv[4]
os.makedirs(OUT,exist_ok=True)
its=J.items(which,split)
if which=='a' and not os.environ.get('ALL'): # one variant a file: half of the files whole, half cut
    its=[it for i,it in enumerate(its) if (i//2)%2==(it[1]>0)]
part=[int(x) for x in os.environ.get('PART','0/1').split('/')]
for n,(f,c,t) in enumerate(its):
    if n%part[1]!=part[0]: continue
    name=f'{OUT}/{which}_{split}_{"_".join(f.split("/")[-2:])}_{c}.pkl'
    if os.path.exists(name): continue
    p=subprocess.run([GRID,'--features','--skip',str(c),f],capture_output=True,text=True)
    try: j=json.loads(p.stdout)
    except Exception as e: print('bad',f,p.stderr[:200]); continue
    of=[]
    for o in j['offers']:
        q=o['quick'];r=o['rows']
        of.append(dict(qp=np.array([x[0] for x in q]),qo=np.array([x[1] for x in q]),Q=np.array([x[2] for x in q],np.float32),
          P=np.array([x[0] for x in r]),O=np.array([x[1] for x in r]),F=np.array([x[2] for x in r]),proof=np.array([x[3] for x in r],np.float32),
          X=np.array([x[4] for x in r],np.float32),B=np.array([x[5] for x in r],np.float32),file_s=np.array(o['file_s'])))
    pickle.dump(dict(f=f,cut=c,t=t,offers=of),open(name,'wb'))
