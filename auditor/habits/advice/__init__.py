"""What to change: cuts, weights, the advice in sentences, and its cautions.

trims.py, weights.py  what each cut and each default weight would bring
best.py               one sentence a carton
words.py, caveats.py  changes and trends in sentences; what was assumed and what cannot be said
cautions.py           what is said wherever a carton is cut or a parcel lifted
"""
