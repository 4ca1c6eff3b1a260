//! Words of status cells in many languages: stumps, empty sites, trees that are gone, what happens to a tree, permits that ended.
//!
//! A table only; words are in lower case without accents. Translations are from memory.

/// A stump stands there.
#[rustfmt::skip]
pub const STUMP: &[&str] = &[
    "stump", "stumps", "souche", "dessouchage", "stumpf", "baumstumpf", "stubben", "baumstubben", "stubbe", "stub", "tocon", "ceppaia", "ceppo", "toco", "cepo",
    "boomstronk", "stobbe", "stronk", "pniak", "karpa", "parez", "panj", "kanto",
];

/// No tree stands there.
#[rustfmt::skip]
pub const NO_TREE: &[&str] = &[
    "vacant", "vacant site", "vacant planting", "vacant lot", "planting site", "planting space", "planting spot", "planting location", "available site", "available planting",
    "open site", "empty site", "empty pit", "empty tree pit", "empty well", "empty", "no tree", "no tree present", "no room for replant", "no room for", "no replant", "do not plant", "under process for plant", "tree site", "future planting", "to be planted", "potential site",
    "potential planting", "unsuitable site", "site unsuitable", "asphalted well", "asphalt well", "concreted well", "stump removed", "emplacement libre", "emplacement vide", "emplacement vacant",
    "fosse vide", "site vacant", "vide", "leerstandort", "leerer standort", "freier standort", "baumstandort leer", "unbepflanzt", "leer", "pflanzstandort", "alcorque vacio", "hueco",
    "plaza vacia", "posicion vacia", "vacio", "vacia", "sin arbol", "vacante", "sito vuoto", "formella vuota", "posto vuoto", "vuoto", "canteiro vazio", "caldeira vazia", "vazio", "vazia",
    "lege boomplek", "lege plantplaats", "leeg", "geen boom", "tom plats", "tom", "ledig plats", "tomt plantehul", "tomt", "puste miejsce", "brak drzewa", "prazdne misto", "prazno mesto",
];

/// Planned, not there yet: only as the whole cell of a status.
#[rustfmt::skip]
pub const PLANNED: &[&str] = &[
    "proposed", "planned", "proposed tree", "future", "geplant", "prevu", "prevue", "projete", "propuesto", "previsto", "gepland", "planlagt", "planerad", "planowane", "planovany", "predvideno",
];

/// A tree stands there, dead or alive.
#[rustfmt::skip]
pub const STANDING: &[&str] = &[
    "alive", "living", "live", "dead", "dying", "standing", "present", "existing", "active", "inactive", "in place", "tree", "trees", "planted", "established", "healthy", "good", "fair", "poor",
    "in service", "maintained", "vivant", "vivante", "mort", "morte", "existant", "existante", "en place", "actif", "active", "arbre", "lebend", "lebendig", "vital", "tot", "abgestorben", "bestand",
    "bestehend", "vorhanden", "aktiv", "baum", "vivo", "viva", "muerto", "muerta", "existente", "activo", "activa", "arbol", "morto", "morta", "esistente", "presente", "attivo", "attiva", "albero",
    "ativo", "ativa", "arvore", "levend", "dood", "aanwezig", "bestaand", "actief", "boom", "levende", "dod", "doed", "eksisterende", "levande", "befintlig", "trad", "trae", "zywe", "zywy", "martwe",
    "istniejace", "drzewo", "zivy", "suchy", "stavajici", "strom", "ziv", "suh", "obstojece", "drevo",
];

/// The tree is gone.
#[rustfmt::skip]
pub const GONE: &[&str] = &[
    "removed", "tree removed", "gone", "felled", "cut down", "tree gone", "missing tree", "abattu", "abattue", "arbre abattu", "supprime", "gefallt", "gefaellt", "entfernt", "gerodet",
    "talado", "eliminado", "retirado", "apeado", "abbattuto", "abbattuta", "rimosso", "rimossa", "abatido", "abatida", "gekapt", "geveld", "gerooid", "verwijderd", "faeldet", "fjernet",
    "nedtagen", "borttagen", "falld", "usuniete", "wyciete", "pokaceno", "odstraneno", "odstranen", "posekano", "odstranjeno", "kaadettu",
];

/// The tree stands on other ground.
#[rustfmt::skip]
pub const OFF_SITE: &[&str] = &[
    "off site", "offsite", "neighbour", "neighbor", "neighbouring", "neighboring", "adjacent", "adjoining", "nachbar", "nachbargrundstuck", "nachbargrundstueck", "hors site",
    "voisin", "vecino", "colindante", "vicino", "confinante", "vizinho", "buren", "buurperceel", "nabo", "granne", "sasiad", "soused", "sosed",
];

/// The tree is moved.
#[rustfmt::skip]
pub const RELOCATE: &[&str] = &[
    "relocate", "relocated", "relocation", "transplant", "transplanted", "transplanting", "move", "moved", "umpflanzen", "verpflanzen", "verpflanzung", "transplanter",
    "transplantation", "deplacer", "trasplantar", "trasplante", "trapiantare", "trapianto", "transplantar", "transplante", "verplanten", "verplaatsen", "flytta", "flyttas", "flyttes", "flytt",
    "przesadzic", "przesadzenie", "presadit", "presaditi", "presazeni",
];

/// The tree is felled.
#[rustfmt::skip]
pub const REMOVE: &[&str] = &[
    "remove", "removal", "removed", "fell", "felled", "felling", "cut", "cut down", "demolish", "fallen", "faellen", "fallung", "faellung", "roden", "rodung", "entfernen", "abattre", "abattage",
    "supprimer", "talar", "tala", "eliminar", "apear", "apeo", "abbattere", "abbattimento", "rimuovere", "abater", "abate", "remover", "kappen", "kap", "rooien", "vellen", "verwijderen",
    "falla", "fallas", "tas ner", "faeldes", "faeldning", "felles", "felling", "fjernes", "wycinka", "wyciac", "usunac", "usuniecie", "kacet", "kaceni", "odstranit", "posek", "odstraniti", "posekati",
];

/// The tree stays.
#[rustfmt::skip]
pub const RETAIN: &[&str] = &[
    "retain", "retained", "retention", "keep", "kept", "preserve", "preserved", "preservation", "remain", "remains", "save", "saved", "protect", "protected", "protection", "erhalten", "erhalt",
    "bleibt", "verbleibt", "conserver", "conserve", "conservation", "maintenir", "maintenu", "garder", "mantener", "conservar", "conservacion", "mantenere", "conservare", "manter", "preservar",
    "behouden", "behoud", "handhaven", "bevara", "bevaras", "sparas", "bevares", "bevare", "bevaring", "zachowac", "zachowanie", "adaptacja", "zachovat", "ponechat", "ohraniti", "ohrani",
];

/// Before a word of what happens: the opposite is meant, so nothing is taken from the cell.
#[rustfmt::skip]
pub const NOT: &[&str] = &["not", "do not", "don t", "no", "nicht", "kein", "keine", "ne pas", "pas", "non", "nao", "niet", "ikke", "inte", "nie", "ne", "never", "without"];

/// A permit that will not be built.
#[rustfmt::skip]
pub const ENDED_PERMIT: &[&str] = &[
    "withdrawn", "withdrew", "denied", "deny", "refused", "refusal", "expired", "void", "voided", "cancelled", "canceled", "rejected", "revoked", "lapsed", "abandoned", "disapproved", "not approved",
    "terminated", "annule", "annulee", "refuse", "refusee", "retire", "retiree", "expire", "expiree", "perime", "perimee", "caduc", "caduque", "rejete", "rejetee", "desistement", "abgelehnt", "versagt",
    "zuruckgezogen", "zurueckgezogen", "zuruckgewiesen", "abgelaufen", "erloschen", "storniert", "widerrufen", "aufgehoben", "denegado", "denegada", "rechazado", "rechazada", "retirado",
    "retirada", "anulado", "anulada", "cancelado", "cancelada", "caducado", "caducada", "vencido", "vencida", "desistido", "desistida", "desestimado", "desestimada", "respinto", "respinta", "ritirato",
    "ritirata", "annullato", "annullata", "scaduto", "scaduta", "decaduto", "decaduta", "negato", "negata", "rigettato", "diniego", "indeferido", "indeferida", "recusado", "expirado", "caducou",
    "geweigerd", "ingetrokken", "vervallen", "afgewezen", "geannuleerd", "verlopen", "avslag", "avslatt", "avslaget", "avslagen", "avvist", "avvisad", "avskriven", "aterkallad", "upphavd", "trukket",
    "tilbagetrukket", "afslag", "afslaet", "afvist", "annulleret", "annullert", "udlobet", "utlopt", "bortfallet", "odmowa", "odrzucony", "odrzucone", "wycofany", "wycofane", "wygasl", "wygaslo",
    "anulowany", "anulowane", "zamitnuto", "zamitnuta", "zruseno", "zruseny", "stazeno", "zpetvzato", "propadlo", "zavrnjeno", "zavrnjen", "umaknjeno", "umaknjen", "poteklo", "preklicano",
];

/// Yes.
#[rustfmt::skip]
pub const YES: &[&str] = &[
    "yes", "y", "true", "t", "1", "x", "oui", "o", "vrai", "ja", "j", "wahr", "si", "s", "verdadero", "vero", "sim", "waar", "tak", "ano", "da", "heritage", "heritage tree", "landmark",
    "landmark tree", "significant", "significant tree", "exceptional", "exceptional tree", "protected", "protected tree", "designated", "listed", "specimen", "veteran", "ancient", "naturdenkmal", "remarquable",
    "monumental", "monumentale", "monumentaal", "beschermd", "champion",
];

/// No.
#[rustfmt::skip]
pub const NO: &[&str] = &[
    "no", "n", "false", "f", "0", "non", "faux", "nein", "falsch", "falso", "nao", "nee", "onwaar", "nie", "ne", "nej", "nei", "none", "not", "not protected", "not designated", "not listed", "not significant", "not heritage",
    "n a", "na", "nicht", "unprotected",
];
