"""The words by which a letter about a parcel says whose a figure is, which side it is, and what an amount is for.

From memory and common practice, no source. A star stands for any ending or beginning, a low line for a blank.
"""

from __future__ import annotations

import re
from functools import cache

WHOSE = {
    "declared": "sender shipper declar* contratar you_told you_gave you_entered you_said told_us booked booking "
    "booked listed listing describ* description label* bought keyed typed ordered announc* estimat* quoted angegeben* "
    "angabe* gebucht* buchung* angemeldet* déclar* indiqu* annonc* aangegeven opgegeven vermeld* geboekt* declarad* "
    "indicad* dichiarat* indicat* uppgiv* angiv* deklar* zadeklarowan* podan*",
    "measured": "ascertain* established equipment midió medía pesó pesaba camera bench scale scales depot terminal hub "
    "check checked handled received machine machines belt scan* measur* re-measur* remeasur* weighed reweigh* found "
    "actual* audit* verif* observed recorded captured clerk rule ruler tape inspect* sorting laser sensor* nachmess* "
    "nachwieg* nachgemessen* nachgewogen* *messung* gemessen* gewogen* ermittel* festgestellt* tatsächlich* *waage* "
    "mesur* pesé* pesée relev* constat* réel* gemeten vastgesteld* weegschaal medid* pesad* misurat* pesat* rilevat* "
    "uppmätt* vägd* zmierz* zważ*",
}
"""Words that say of a figure that it is the seller's, or the carrier's."""

SPEAKS = {
    "declared": "you your yours sie ihr* vous votre vos u uw usted su lei vostr*",
    "measured": "we our ours us wir unser* uns nous notre nos wij ons onze nuestr* noi nostr*",
}
"""Who is spoken to, and who speaks: that tells where nothing else does."""

SIDES = {
    "length": "greatest long longest length* läng* lang* longueur* largo lunghezza lengte",
    "width": "wide width* breit* large* largeur* breedte ancho larghezza",
    "height": "high height* tall deep depth* höhe* hoch haut* hoogte alto altura altezza",
}

AMOUNTS = {
    "adjustment": "charge supplementar* adjust* correct* difference differenz additional addition extra further "
    "another missing owe owed owing collect* debit* deduct* taken took drew drawn topped top-up kept_back withh* "
    "shortfall short short-paid to_pay charged_to now_charged have_charged unterschied* nachbelast* nachberechn* "
    "nacherheb* nachzahl* fehlbetrag zusätzlich* supplément* différence complément* diferencia ajuste* cargar* "
    "differenza conguaglio verschil naheffing bijbetal* skillnad* dopłat* różnic*",
    "refund": "refund* gutschrift* erstatt* rembours* reembols* rimbors* terugbetal* återbetal* zwrot*",
    "fee": "fuel handling fee fees tax vat surcharge* mwst ust iva btw tva moms steuer* zuschlag* recargo* toeslag* "
    "combustible brandstof* repacking storage",
    "other": "paid pay pays paying price* rate rates cost* total* credit balance freight carriage postage booked "
    "bought quoted deposit payout left rest in_all now previous* original* already before altogether bring brings "
    "come comes sells should right so_far bezahlt* statt preis* gesamt* guthaben saldo payé* prix solde pagad* precio "
    "pagat* prezzo betaald* prijs insured value worth limit",
}
"""Words that say of an amount that it is the adjustment, or money back; a fee or tax beside it; or was paid before, is
what it comes to, or in an account."""

LIMITS = (
    "over above under below beyond exceed* up_to at_most limit* maximum than über unter bis ab als plus_de "
    "supérieur*_à jusqu'à más_de hasta oltre fino_a meer_dan boven tot från över acima_de até"
)
"""Words right before a figure that is a limit, and nobody's reading."""

NUMBERS = {
    "parcel": "tracking parcel* package* shipment* consignment* label waybill* barcode item mailpiece piece return "
    "sendung* paket* colis suivi envoi envío guía paquete bulto pacco spedizione collo zending* pakket* pakje paczk* "
    "przesyłk* försändelse*",
    "other": "order* account* a/c acct invoice* bill* customer* debtor* debiteur* agreement* mailer iban konto* "
    "bestell* auftrag* rechnung* kunden* klant* phone tel telephone fax registered register* commande* compte* "
    "facture* factuur* client* cliente* pedido* cuenta* factura* ordine* conto fattura* vat ust-id reference* ref "
    "file case slip ticket authorisation authorization card ending",
}
"""Words before a number that say whether it is a parcel's."""


@cache
def pattern(words: str) -> re.Pattern[str]:
    """What finds any of the words, whole ones."""
    spelled = [re.escape(word).replace(r"\*", r"\w*").replace("_", r"\s+") for word in words.split()]
    return re.compile(rf"(?<!\w)(?:{'|'.join(spelled)})(?!\w)", re.IGNORECASE)
