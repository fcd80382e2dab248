"""The words of headings and charges, and the trade's one word for each, in the languages statements are written in."""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

FILLER = {"usd", "us", "gbp", "cad", "aud", "nzd", "chf", "the", "your"}
"""Words in headings that say nothing of what a column is; which currency one names is told by currency.py."""


ELIDED = re.compile(r"(?<=[a-z])['’](?=[dlt]\b)", re.IGNORECASE)
"""An apostrophe within a shortened word: add'l, cont'd."""


UNTAXED = re.compile(
    r"\b(?:ex|excl|excluding|before|without|exkl|ohne|zzgl|hors|sans|sem|sin|senza|bez|inc|incl|including|inkl|incluido)"
    r"\.?\s+(?:gst|vat|tax|taxes|mwst|ust|tva|iva|btw|moms|hst)\b|"
    r"(?:(?<=total )|(?<=montant )|(?<=prix ))h\.?t\b|\bttc\b",
    re.IGNORECASE,
)
"""Words behind the name of an amount, or in its place, that say which taxes are in it."""


THREE_SIDES = re.compile(r"\b[^\W\d_]\s*[x×*]\s*[^\W\d_]\s*[x×*]\s*[^\W\d_]\b", re.IGNORECASE)
"""A size by the first letters of its sides: 'L x W x H', 'LxBxH'."""


def tokens(text: str) -> list[str]:
    """The words of a heading or charge, in small letters: 'weight_kg' and 'WeightKg' → weight, kg.

    'Ex GST $', of which no more is said, is an amount.
    """
    plain = THREE_SIDES.sub(" size ", UNTAXED.sub(" ", text))
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", ELIDED.sub("", plain))
    found = re.findall(r"[^\W_]+|[#%\"″]", parted.casefold())
    return ["amount"] if FILLER.issuperset(found) and UNTAXED.search(text) else found


WORDS: dict[str, str] = {
    "number": "numbers nbr nbrs cd id code key nr num numero nummer numer no n nro",
    "tracking": "track trk trkg tracing suivi seguimiento tracciamento tracciatura verfolgung awb sendungsverfolgung "
    "consignment consignments waybill waybills airwaybill guia albaran vrachtbrief frachtbrief barcode strichcode "
    "tracer docket connote hawb mawb",
    "parcel": "parcels package packages pkg pkgs pck piece pieces shipment shipments shpt sendung sendungen paket "
    "pakete packstuck colis envoi paquete bulto collo pacco spedizione zending pakket kolli sandning sandningar "
    "forsandelse sendning pakke pakker przesylka przesylki przesylek paczka paczki",
    "order": "bestell bestel auftrags bestellnr bestellnummer bestelnummer bestelnr auftragsnr auftragsnummer "
    "ordernummer ordernr orders ord auftrag bestellung commande pedido ordine ordini opdracht bestelling po so "
    "bestallning bestallningsnr bestilling ordre zamowienie zamowienia encomenda",
    "reference": "references rif ref refs referenz referencia riferimento referentie kenmerk zeichen mark",
    "customer": "sender mittente expediteur absender remitente afzender customers customer's cust client kunde kunden "
    "cliente klant shipper's your seller kund kundens klient klienta party vossa ert",
    "date": "dated datum fecha data dt tag jour giorno dag day on le dato dzien dia",
    "ship": "shipped shipping shipdate versand versendet versandt expedition expedie envio enviado spedito verzend "
    "verzonden sent send dispatched despatched dispatch despatch mailed mailing posted manifest tendered aufgabe "
    "skickad skickat inlamnad inlamning inlamnings afsendt sendt nadana nadany nadane nadania wyslana wyslano "
    "expedicao expedida expedido enviada indleveret",
    "statement": "invoice bill inv rechnung facture factura fattura factuur releve estratto beleg stmt faktura "
    "faktury fakturan fatura extrato specyfikacja specyfikacji specifikation settlement",
    "service": "services svc serv product dienst produkt dienstleistung versandart prestation servicio producto "
    "servizio prodotto method mode class option lvl tjanst tjenester tjeneste usluga uslugi servico",
    "zone": "zones band bands zn zona zonen zon strefa sone",
    "weight": "weights wt wgt wght mass gewicht poids peso lbs kgs kilos pounds vikt vaegt vekt masa pesos",
    "billed": "abgerechnetes abgerechneten berechnetes berechnete berekend berekende verrechnet verrechnetes "
    "verrechnete tassate tassati taxees taxee facturees facturee facturados facturadas facturada fatturate fatturati "
    "gefactureerde rtd tassato tassata billable rated chargeable charged invoiced billing abgerechnet abrechnung "
    "abrechnungs berechnet frachtpflichtig frachtpflichtiges taxe taxable facture facturado facturable tassabile "
    "fatturato gefactureerd rating debiterad debiterat debiterade fakturerad fakturerat faktureret rozliczeniowa "
    "rozliczeniowy rozliczeniowe taxado taxada faturado faturada chgd cobrado cobrada cobrados",
    "measured": "weighed machine machines sensor sensors equipment laser scanned scan scanner audited audit actual "
    "real reel reale mesure medido misurato gemessen gemessene gemessenes ermittelt ermittelte gemeten gewogen "
    "reweighed remeasured verified read reading readings captured found observed corrected tatsachlich tatsachliche "
    "tatsachliches scale act bascula waage bilancia weegschaal gross brutto",
    "declared": "told gave input booked stated original label entered manifested claimed keyed listed submitted typed "
    "given supplied angegeben angegebene angegebenes deklariert deklarierte declare declaree declarado dichiarato "
    "opgegeven shipper",
    "size": "sizes dimension dimensions dims dim measurements abmessung abmessungen masse mas medidas dimensiones "
    "dimensioni misure afmeting afmetingen maten matt mal wymiary wymiar wymiarow dimensoes lxbxh lxwxh lxwxd lwh lbh "
    "lxw",
    "length": "long longest len lgth l lange longueur largo lunghezza lengte dlugosc comprimento langd lengde",
    "width": "wid wdth w breite b largeur ancho larghezza breedte szerokosc largura bredd bredde breadth",
    "middle": "mid second",
    "short": "shortest",
    "height": "ht hgt hght h hohe hauteur alto altura altezza hoogte depth d tiefe profondeur wysokosc hojd hojde "
    "hoyde",
    "amount": "debit soll debe addebiti amounts amt value betrag montant importe monto importo bedrag cost costs "
    "price preis prix precio prezzo prijs sum net netto eur due payable debited belopp belob kwota valor",
    "total": "totals totale totaal gesamt gesamtbetrag summe suma somme somma endbetrag sum summa razem lacznie ialt "
    "sammanlagt",
    "charge": "beitrag contributo contribucion bijdrage charges chg chrg surcharge fee fees supplement gebuhr gebuehr "
    "entgelt zuschlag frais cargo recargo addebito supplemento kosten toeslag surtaxe taxe surch levy contribution "
    "avgift avgifter gebyr oplata oplaty doplata taxa sobretaxa tillagg tillaeg dodatek supplementary schg",
    "description": "desc descr detail details particulars narrative beschreibung bezeichnung leistung text libelle "
    "designation descripcion concepto descrizione causale omschrijving position item items positionen type kind art "
    "tipo rubrica descricao beskrivning beskrivelse opis narration",
    "residential": "privatperson residentielle residentiel house huis huisadres wohngebiet privatpersonen privatkunde "
    "privatkunden privathaushalt privati privato particuliere consument consumenten domiciliaria domiciliario "
    "wohnadresse resi residence residencial privatadresse privat privatzustellung domicile domicilio particulier "
    "thuisbezorging home residenziale household householder private doorstep consumer privatadress hemleverans "
    "prywatny prywatna prywatne residencia resid",
    "delivery": "delivered livraison entrega consegna zustellung bezorging levering lieferung utdelning utlevering "
    "doreczenie dostawa deliv dely dlvry",
    "postcode": "postal zip zipcode plz postleitzahl cp cap",
    "carton": "cartons karton box boxes kiste verpackung packaging boite caja scatola doos",
    "usual": "usually typical typically normal normally default",
    "reason": "reasons grund motif motivo reden cause why because",
    "void": "voided cancelled canceled storniert storno annule anulado annullato geannuleerd",
    "paid": "pay bezahlt paye pagado pagato betaald income",
    "buyer": "kaufer acheteur comprador compratore koper",
    "percent": "percentage pct prozent prozentsatz pourcentage porcentaje percentuale",
    "fuel": "energie energia energetico energetica energetique gazole gasoil gasolio gasoleo kraftstoff treibstoff "
    "diesel carburant combustible carburante brandstof fsc fsu drivmedel drivmedels drivstoff braendstof bransle "
    "paliwo paliwowa paliwowy paliwowe combustivel",
    "freight": "conveyance affrancatura frankering frankatur frankierung affranchissement franqueo nolo acheminement "
    "carriage transportation transport trasporto transporte fracht beforderung beforderungs port porto flete porte "
    "vracht vervoer postage haulage basisfracht frachtentgelt linehaul frakt fragt przewozowa przewozowy przewoz "
    "portes cartage frt",
    "base": "grundpreis grundgebuhr grundentgelt grundtarif basic basis",
    "handling": "behandlung bearbeitung verwerking traitement gestione handhabung manutention manut manejo "
    "manipulacion movimentazione behandeling hndlg hndlng hdlg hndl hdlng hantering handtering obsluga manuseamento "
    "maniobras",
    "tariff": "tarief tarif tarife tariffa tarifa takst",
    "manual": "manually handmatig handmatige manuell manuelle manuellen manuel manuale",
    "additional": "mehraufwand meerkosten surplus addl add'l addnl extra special sonder zusatzlich speciale spciale "
    "supplementaire adicional aggiuntiva speziale speciaal supplementare spl niestandardowa niestandardowy dodatkowa "
    "dodatkowy especial sarskild ekstra especiales",
    "address": "anschrift anschriften addressing addr adresse adress adres direccion indirizzo adresu adresowa morada",
    "correction": "correcting berichtigung berichtigt korrigiert rectification rectifiee rectificacion rectificada "
    "corrigee corregida corretto rettificata wijziging gewijzigd anderung geandert modification modifiee modifica "
    "cambio variazione erronee errato errata incorrecta falsch falsche onjuist onjuiste foutief verkeerd corrections "
    "corrected amended amendment change korrektur correccion correzione correctie rettifica corr wrong rattelse "
    "andring korekta zmiana retificacao correcao corrn rettelse berigtigelse",
    "adjustment": "adjustments adj adjusted rebill rebilled nachbelastung nachberechnung ajustement ajuste rettifiche "
    "bijstelling naheffing",
    "credit": "credited refund refunded reversal reversed gutschrift avoir abono accredito creditering erstattung",
    "tax": "vat gst steuer mwst ust umsatzsteuer mehrwertsteuer tva iva btw moms",
    "pickup": "collection abholung enlevement recogida ritiro ophaling",
    "bulky": "sperriges sperrige encombrante voluminosa voluminosos sperrgut sperrig encombrant voluminoso ingombrante",
    "large": "oversize oversized ubergrosse surdimensionne",
    "effective": "gultig valid valable valido geldig from ab desde",
    "line": "lines zeilen lignes lineas righe regels rader rad wiersz wiersze linhas",
    "unit": "units uom einheit unite unidad unita eenheid",
}
"""The word that stands for what headings and charges call a thing, in the languages in which statements are written.

From memory and common practice, no source. Written without accents, as `canonical` compares them.
"""
SILENT = FILLER | {
    *("of", "for", "to", "in", "this", "our", "a", "an", "am", "au", "s", "customer"),
    *("vs", "by", "own"),
    *("der", "die", "das", "den", "und", "zur", "zum", "mit", "ihr", "ihre"),
    *("de", "d", "du", "des", "la", "le", "et", "pour", "avec", "votre"),
    *("el", "del", "y", "por", "con", "su", "nuestro", "di", "e", "per", "vostro"),
    *("van", "voor", "het", "en", "met", "uw", "och", "till", "ert", "na", "z", "za", "do", "da", "em"),
}
"""Words that say nothing when words are compared one by one."""
LINKS = ("", "s", "n", "es", "en")
"""What joins the parts of a long word: Abrechnung-s-gewicht."""
LONG_WORD, KNOWN_PART, LONG_PART = 7, 4, 5
ENDS = {"address", "charge", "weight", "date", "number", "correction", "amount"}
"""What a long word of an unknown beginning may end in."""
MISTYPED = 6
"""From so many letters on, an unknown word that is one slip away from a known one is taken for it."""


WITHOUT_PARTS = str.maketrans({"ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "Ae", "đ": "d", "ß": "ss"})
"""Letters whose stroke is no accent to Unicode."""


def bare(text: str) -> str:
    """Without accents: 'Länge' → Lange."""
    parted = unicodedata.normalize("NFKD", text.translate(WITHOUT_PARTS))
    return "".join(letter for letter in parted if not unicodedata.combining(letter))


@cache
def _known() -> dict[str, str]:
    """Every word → the one that stands for it; a word of two meanings has the earlier."""
    pairs = [(word, stands) for stands, words in WORDS.items() for word in (stands, *words.split())]
    return dict(reversed(pairs))


@lru_cache(10_000)
def _stands_for(word: str) -> tuple[str, ...]:
    """The words of the trade that a word, or the parts of a long one, stand for; itself when it is not known."""
    known = _known()
    if word in known:
        return (known[word],)
    if len(word) >= LONG_WORD and (parts := _parts(word)):
        return parts
    near = (
        process.extractOne(word, known.keys(), scorer=OSA.distance, score_cutoff=1) if len(word) >= MISTYPED else None
    )
    return (known[near[0]],) if near else (word,)


def _parts(word: str) -> tuple[str, ...]:
    """A long word put together of known ones: treibstoffzuschlag → fuel, charge; its end at least must be known.

    Where that is long as well, its beginning may be unknown: afleveradres → aflever, address.
    """
    known = _known()
    for at in range(KNOWN_PART - 1, len(word) - KNOWN_PART + 2):
        head, tail = word[:at], word[at:]
        if tail in known:
            linked = [head.removesuffix(link) for link in LINKS if head.endswith(link)]
            found = next((part for part in linked if part in known), None) or next(filter(_parts, linked), None)
            if found:
                return (*_stands_for(found), known[tail])
    return next(
        (
            (word[:at], known[word[at:]])
            for at in range(KNOWN_PART - 1, len(word) - LONG_PART + 1)
            if known.get(word[at:]) in ENDS
        ),
        (),
    )


HYPHENATED = re.compile(r"([^\W\d_]{2,})-\s?([a-z]{2,})")


def _is_broken(parted: re.Match[str]) -> bool:
    """Whether a hyphen breaks a word at the end of a line: neither part is known, both together are."""
    known = _known()
    head, tail = (part.casefold() for part in parted.groups())
    return head + tail in known and not (head in known and tail in known)


@lru_cache(10_000)
def canonical(text: str) -> tuple[str, ...]:
    """The words of a heading or charge as the trade's one word for each, without those that say nothing.

    'Abrechnungsgewicht (kg)' → billed, weight, kg; 'N° de suivi' → number, tracking.
    """
    whole = HYPHENATED.sub(lambda parted: "".join(parted.groups()) if _is_broken(parted) else parted[0], bare(text))
    spelled = [{"#": "number", "%": "percent"}.get(word, word) for word in tokens(whole)]
    words = [one for word in spelled if word not in SILENT for one in _stands_for(word)]
    return tuple(word for word in dict.fromkeys(words) if word not in SILENT and not word.isdecimal())


def are_known(text: str) -> bool:
    """Whether all words of a text are the trade's."""
    known = _known()
    said = tokens(bare(text))
    return bool(said) and all(word in known for word in said)
