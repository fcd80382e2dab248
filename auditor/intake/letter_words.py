"""The words by which a letter about a parcel says whose a figure is, which side it is, and what an amount is for.

From memory and common practice, no source. A star stands for any ending or beginning, a low line for a blank.
"""

from __future__ import annotations

import re
from functools import cache

WHOSE = {
    "declared": "you_told you_gave you_entered you_said told_us booked booking booked listed listing describ* "
    "description label* bought keyed typed ordered announc* estimat* quoted angegeben* angabe* gebucht* buchung* "
    "angemeldet* déclar* indiqu* annonc* aangegeven opgegeven vermeld* geboekt* declarad* indicad* dichiarat* "
    "indicat* uppgiv* angiv* deklar* zadeklarowan* podan*",
    "read": "camera bench scale scales depot terminal hub check checked handled received machine machines belt scan* "
    "measur* re-measur* remeasur* weighs weighed weighing reweigh* found actual* audit* verif* observed recorded "
    "captured clerk rule ruler tape inspect* sorting laser sensor* nachmess* nachwieg* nachgemessen* nachgewogen* "
    "*messung* gemessen* gewogen* ermittel* festgestellt* tatsächlich* *waage* mesur* pesé* pesée relev* constat* "
    "réel* gemeten vastgesteld* weegschaal medid* pesad* misurat* pesat* rilevat* uppmätt* vägd* zmierz* zważ*",
}
"""Words that say of a figure that it is the seller's, or the carrier's."""

SPEAKS = {
    "declared": "you your yours sie ihr* vous votre vos u uw usted su lei vostr*",
    "read": "we our ours us wir unser* uns nous notre nos wij ons onze nuestr* noi nostr*",
}
"""Who is spoken to, and who speaks: that tells where nothing else does."""

SIDES = {
    "length": "long longest length* läng* lang* longueur* largo lunghezza lengte",
    "width": "wide width* breit* large* largeur* breedte ancho larghezza",
    "height": "high height* tall deep depth* höhe* hoch haut* hoogte alto altura altezza",
}

AMOUNTS = {
    "adjustment": "adjust* correct* difference differenz additional addition extra further another missing owe owed "
    "owing surcharge* collect* debit* deduct* taken took drew drawn topped top-up kept_back withh* shortfall short "
    "unterschied* nachbelast* nachberechn* nacherheb* nachzahl* fehlbetrag zusätzlich* supplément* différence "
    "complément* diferencia ajuste* differenza conguaglio verschil naheffing bijbetal* skillnad* dopłat* różnic*",
    "other": "paid pay pays paying price* cost* total* credit balance freight carriage postage booked bought quoted "
    "deposit payout left rest in_all now previous* original* already before altogether bring brings come comes sells "
    "should right so_far bezahlt* statt preis* gesamt* guthaben saldo payé* prix solde pagad* precio pagat* prezzo "
    "betaald* prijs insured value worth limit",
}
"""Words that say of an amount that it is the adjustment; or was paid before, is what it comes to, or in an account."""

LIMITS = (
    "over above under below beyond exceed* up_to at_most limit* maximum than über unter bis ab als plus_de "
    "supérieur*_à jusqu'à más_de hasta oltre fino_a meer_dan boven tot från över acima_de até"
)
"""Words right before a figure that is a limit, and nobody's reading."""

OTHER_NUMBERS = (
    "order* account* invoice* customer* iban konto* bestell* auftrag* rechnung* kunden* phone tel telephone fax "
    "registered register* commande* compte* facture* cliente* pedido* cuenta* factura* ordine* conto fattura* vat "
    "ust-id reference* ref file case ticket"
)
"""Words right before a number that is no parcel's."""


GROUPED = r"[A-Z]{2}(?: \d{3}){3} [A-Z]{2}|\d{4}(?: \d{4}){3,5}(?: \d{2})?"
"""Parcels' numbers that are printed in groups, as on postal labels."""


@cache
def pattern(words: str) -> re.Pattern[str]:
    """What finds any of the words, whole ones."""
    spelled = [re.escape(word).replace(r"\*", r"\w*").replace("_", r"\s+") for word in words.split()]
    return re.compile(rf"(?<!\w)(?:{'|'.join(spelled)})(?!\w)", re.IGNORECASE)
