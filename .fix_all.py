import re,textwrap
p='kit/spoonline/keeping/__init__.py'
s=open(p).read()
a=s.index("__all__ = ["); 
names=re.findall(r'"(\w+)"',s[a:])
body=textwrap.fill(", ".join(f'"{n}"' for n in sorted(set(names),key=lambda n:(not n.isupper(), n.islower() or not n[0].isupper(), n)))+",",128,initial_indent="    ",subsequent_indent="    ")
open(p,'w').write(s[:a]+"__all__ = [\n"+body+"\n]  # fmt: skip\n")
