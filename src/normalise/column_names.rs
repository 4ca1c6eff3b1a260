//! The names under which real city files keep what the program looks for, role by role, in many languages.
//!
//! A table only. Names are words in lower case without accents ([`words`](super::words)); the earlier in its list, the better.
//! A leading `=` means the whole name, not a part of a longer one. Sources: field names of published city inventories and
//! permit lists; translations are from memory.

/// What the values of a role's column must look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Check {
    /// Different in nearly every row.
    Id,
    /// Numbers.
    Number,
    /// Words (not only numbers).
    Text,
    /// Anything.
    Any,
    /// Diameters in any of their forms.
    Diameter,
    /// Units of length.
    Unit,
    /// Yes and no.
    YesNo,
    /// Words for whether a tree stands there, in a fair share of the cells.
    Status,
    /// Retain, remove, relocate, off site.
    Disposition,
    /// Whether a work stays or goes.
    Lasting,
    /// WKT, hex WKB, GeoJSON, or `lat, lon`.
    Place,
    /// Young, mature, over-mature.
    LifeStage,
    /// Ages in years, no calendar years.
    Years,
}

/// One role and the names that point to it.
#[derive(Debug, Clone, Copy)]
pub struct RoleNames {
    /// The word in `--tree-columns`, `--work-columns` and `--surface-columns`.
    pub role: &'static str,
    /// What the values must look like.
    pub check: Check,
    /// Names, best first.
    pub names: &'static [&'static str],
    /// A name with one of these words is something else.
    pub not: &'static [&'static str],
}

/// Names of longitude columns, also used to tell longitudes from eastings.
#[rustfmt::skip]
pub const LONGITUDE: &[&str] = &[
    "longitude", "lon", "=long", "=lng", "=lgt", "longitud", "longitudine", "langengrad", "laengengrad", "geogr lange", "geo lon", "gps lon", "lon wgs 84",
    "lon wgs", "x wgs 84", "wgs 84 lon", "lengtegraad", "laengdegrad", "lengdegrad", "langdgraad", "dlugosc geograficzna", "=dlugosc", "zemepisna delka",
    "zemepisna dolzina", "x longitude", "longitude x",
];
/// Names of latitude columns.
#[rustfmt::skip]
pub const LATITUDE: &[&str] = &[
    "latitude", "=lat", "latitud", "latitudine", "breitengrad", "geogr breite", "geo lat", "gps lat", "lat wgs 84", "lat wgs", "lat", "y wgs 84", "wgs 84 lat",
    "breedtegraad", "breddegrad", "breddgrad", "szerokosc geograficzna", "=szerokosc", "zemepisna sirka", "zemepisna sirina", "y latitude",
    "latitude y",
];
/// Names of easting columns.
#[rustfmt::skip]
pub const EASTING: &[&str] = &[
    "=x", "easting", "point x", "x coord", "coord x", "xcoord", "coordx", "x coordinate", "coordinate x", "pos x", "x pos", "geo x", "utm x", "x utm", "x lambert",
    "lambert x", "x lambert 93", "x koord", "rechtswert", "ostwert", "hochrechts", "coordenada x", "coord este", "=este", "coordinata x", "=est", "x rd",
    "rd x", "x koordinat", "x koordinaat", "osttahti", "wspolrzedna x", "souradnice x", "koordinata x", "x centroid", "centroid x", "=e", "x m", "x ft", "=east",
];
/// Names of northing columns.
#[rustfmt::skip]
pub const NORTHING: &[&str] = &[
    "=y", "northing", "point y", "y coord", "coord y", "ycoord", "coordy", "y coordinate", "coordinate y", "pos y", "y pos", "geo y", "utm y", "y utm", "y lambert",
    "lambert y", "y lambert 93", "y koord", "hochwert", "nordwert", "coordenada y", "coord norte", "=norte", "coordinata y", "=nord", "y rd", "rd y",
    "y koordinat", "y koordinaat", "wspolrzedna y", "souradnice y", "koordinata y", "y centroid", "centroid y", "=n", "y m", "y ft", "=north",
];
/// Names of columns that hold a whole place or geometry.
#[rustfmt::skip]
pub const PLACE: &[&str] = &[
    "the geom", "geom", "geometry", "wkt", "wkt geom", "wkt geometry", "=shape", "geo shape", "geo point 2 d", "geo point", "geopoint", "geolocation", "geo local area",
    "location", "=point", "latlon", "lat lon", "lat long", "latlong", "lat lng", "latitude longitude", "coordinates", "coords", "geo", "ewkb", "wkb", "position", "lonlat", "lon lat",
    "geometrie", "geometria", "geometri", "koordinaten", "coordenadas", "coordonnees", "coordinate",
];

#[rustfmt::skip]
const CROWN_WORDS: &[&str] = &[
    "crown", "canopy", "crowns", "krone", "kronen", "couronne", "houppier", "copa", "chioma", "kroon", "kron", "korony", "koruny", "krosnje", "foliage",
];

/// Roles of the columns of a tree inventory, in the order in which columns are given out.
#[rustfmt::skip]
pub const TREE_ROLES: &[RoleNames] = &[
    RoleNames {
        role: "root_crown_diameter",
        check: Check::Diameter,
        names: &[
            "root crown diameter", "diameter root crown", "diameter above root crown", "root collar diameter", "diameter root collar", "rcd", "=drc",
            "basal diameter", "diameter basal", "diameter above root", "diameter at base", "base diameter", "dab", "wurzelhalsdurchmesser",
        ],
        not: &["unit", "units", "date"],
    },
    RoleNames {
        role: "narrowest",
        check: Check::Diameter,
        names: &[
            "narrowest diameter", "diameter narrowest", "diameter at narrowest", "narrowest point", "narrowest point diameter", "narrowest", "diameter below fork", "diameter below union",
            "diameter below lowest fork", "narrowest below fork", "smallest diameter below fork",
        ],
        not: &["unit", "units", "date", "height", "sidewalk", "width"],
    },
    RoleNames {
        role: "diameter",
        check: Check::Diameter,
        names: &[
            "dbh", "d b h", "diameter at breast height", "diameter breast height", "trunk diameter", "trunkdiameter", "stem diameter", "trunk diam", "trunk dia",
            "trunk d", "stem diam", "=dsh", "diameter at standard height", "bhd", "brusthohendurchmesser", "brusthoehendurchmesser",
            "stammdurchmesser", "stammdurchm", "stamm durchmesser", "=stammd", "dhp", "diametre tronc", "diametre du tronc", "diametre", "=dap", "diametro tronco",
            "diametro del tronco", "diametro fusto", "diametro normal", "diametro altura pecho", "diametro", "stamdiameter", "stamdiam",
            "diameter stam", "stammediameter", "brysthojdediameter", "brosthojdsdiameter", "brysthoydediameter", "stammdiameter", "piersnica",
            "srednica pnia", "srednica", "prumer kmene", "prumer", "premer debla", "prsni premer", "premer", "diametr", "caliper", "calliper", "diameter", "diam",
            "=dia", "durchmesser", "trunk size", "dbhs", "dbh class", "dbh range",
        ],
        not: &[
            "crown", "canopy", "crowns", "krone", "kronen", "couronne", "houppier", "copa", "chioma", "kroon", "kron", "korony", "koruny", "krosnje", "spread", "root",
            "basal", "pit", "hole", "well", "grate", "date", "id", "code", "unit", "units", "change", "growth", "source", "method", "pipe",
        ],
    },
    RoleNames {
        role: "girth",
        check: Check::Diameter,
        names: &[
            "girth", "trunk girth", "stem girth", "girth at breast height", "=gbh", "=cbh", "trunk circumference", "circumference", "trunk circ", "circonference",
            "circonference tronc", "circonference du tronc", "stammumfang", "stammumf", "stamm umfang", "=stu", "umfang", "circunferencia", "perimetro tronco",
            "perimetro del tronco", "perimetro", "=pap", "=cap", "circonferenza", "circonferenza fusto", "stamomtrek", "omtrek", "stammeomkreds", "stammeomkrets",
            "stamomkrets", "stamomfang", "omkreds", "omkrets", "omfang", "obwod pnia", "obwod", "obvod kmene", "obvod kmeneu", "obvod", "obseg debla", "obseg", "=perimeter",
            "trunk perimeter", "=circ",
        ],
        not: CROWN_WORDS,
    },
    RoleNames {
        role: "diameter_unit",
        check: Check::Unit,
        names: &["diameter unit", "diameter units", "dbh unit", "dbh units", "trunk unit", "unit of measure", "measurement unit", "=unit", "=units"],
        not: &["crown", "height"],
    },
    RoleNames {
        role: "id",
        check: Check::Id,
        names: &[
            "tree id", "treeid", "tree number", "tree no", "tree nr", "tree num", "tree tag", "unique tree id", "tag number", "tag no", "=tag", "inventory id", "asset id",
            "facility id", "unique id", "site id", "baum id", "baumid", "baumnummer", "baum nummer", "baum nr", "baumnr", "kataster nr", "id arbre", "idarbre", "num arbre",
            "numero arbre", "identifiant", "idbase", "id arbol", "num arbol", "codigo arbol", "id albero", "codice albero", "=matricola", "id arvore", "codigo arvore",
            "boom id", "id boom", "boomnummer", "trae nr", "trae id", "trenummer", "tre id", "trad id", "trad nr", "tradnummer", "nr drzewa", "id drzewa",
            "cislo stromu", "id stromu", "st drevesa", "id drevesa", "=id", "=ref", "=reference", "=codigo", "=codice", "=number", "=nummer", "=nr", "=no", "=num",
            "=numero", "=cislo", "=object id", "=objectid", "global id", "globalid", "=gid", "=fid", "=ogc fid", "=feature id", "cartodb id",
        ],
        not: &["species", "zone", "street", "planting", "parent", "user", "park", "genus"],
    },
    RoleNames {
        role: "place",
        check: Check::Place,
        names: PLACE,
        not: &["error", "accuracy", "note", "notes", "comment", "date"],
    },
    RoleNames { role: "x", check: Check::Number, names: &[], not: &["crown", "canopy", "error", "accuracy"] },
    RoleNames { role: "y", check: Check::Number, names: &[], not: &["crown", "canopy", "error", "accuracy"] },
    RoleNames {
        role: "genus",
        check: Check::Text,
        names: &[
            "genus", "genus name", "=genre", "gattung", "=genero", "=genere", "geslacht", "=slaegt", "=slekt", "slakte", "=rodzaj", "=rod", "gattung latein",
            "nom genre", "genre latin",
        ],
        not: &["common", "code", "id", "species", "specie", "art"],
    },
    RoleNames {
        role: "species",
        check: Check::Text,
        names: &[
            "scientific name", "scientific", "botanical name", "botanical", "bot name", "botname", "latin name", "latinname", "species latin", "species latin name",
            "species scientific", "genus species", "genus and species", "=latin", "binomial", "taxon name", "taxon", "nom scientifique", "nom latin", "nom botanique",
            "essence latin", "wissenschaftlicher name", "botanischer name", "art botanisch", "art botanical", "gattung art", "baumart lateinisch", "baumart latein", "art latein",
            "art lat", "nombre cientifico", "nome scientifico", "nome botanico", "nome cientifico", "wetenschappelijke naam", "boomsoort wetenschappelijk", "soortnaam",
            "latijnse naam", "latinsk navn", "latinskt namn", "vetenskapligt namn", "nazwa lacinska", "vedecky nazev", "latinsky nazev", "latinsko ime", "species name",
            "species", "tree species", "=spp", "=sp", "sp name", "espece", "essence", "baumart", "=especie", "especie", "=specie", "boomsoort", "=soort", "traeart", "treart",
            "tradart", "=art", "gatunek", "nazwa gatunku", "druh dreviny", "=druh", "drevesna vrsta", "=vrsta", "tree type",
        ],
        not: &["common", "code", "id", "count", "group", "status", "deutsch", "dtsch", "vernacular", "factor"],
    },
    RoleNames {
        role: "epithet",
        check: Check::Text,
        names: &["species epithet", "specific epithet", "epithet", "artepitheton", "epitheton", "epithete", "epiteto"],
        not: &["code", "id"],
    },
    RoleNames {
        role: "cultivar",
        check: Check::Any,
        names: &[
            "cultivar name", "cultivar", "variety", "=sorte", "variete", "varieteoucultivar", "variedad", "variedade", "varieta", "odmiana", "kultivar", "=sort",
        ],
        not: &["code", "id"],
    },
    RoleNames {
        role: "common",
        check: Check::Text,
        names: &[
            "common name", "commonname", "name common", "species common", "species common name", "common", "vernacular name", "vernacular", "english name", "local name",
            "popular name", "nom commun", "nom francais", "libelle francais", "libellefrancais", "nom vernaculaire", "deutscher name", "art deutsch", "art dtsch",
            "baumart deutsch", "trivialname", "nombre comun", "nombre popular", "nome comune", "nome volgare", "nome comum", "nome popular", "nederlandse naam",
            "dansk navn", "svenskt namn", "norsk navn", "nazwa polska", "nazwa zwyczajowa", "cesky nazev", "slovensko ime", "domace ime",
        ],
        not: &["code", "id", "street", "road", "park"],
    },
    RoleNames {
        role: "crown_n",
        check: Check::Number,
        names: &["crown n", "crown north", "north crown", "spread n", "spread north", "n spread", "north spread", "canopy n", "canopy north", "krone nord", "krone n", "couronne nord"],
        not: &["date"],
    },
    RoleNames {
        role: "crown_e",
        check: Check::Number,
        names: &["crown e", "crown east", "east crown", "spread e", "spread east", "e spread", "east spread", "canopy e", "canopy east", "krone ost", "krone o", "couronne est"],
        not: &["date"],
    },
    RoleNames {
        role: "crown_s",
        check: Check::Number,
        names: &["crown s", "crown south", "south crown", "spread s", "spread south", "s spread", "south spread", "canopy s", "canopy south", "krone sud", "krone s", "couronne sud"],
        not: &["date"],
    },
    RoleNames {
        role: "crown_w",
        check: Check::Number,
        names: &["crown w", "crown west", "west crown", "spread w", "spread west", "w spread", "west spread", "canopy w", "canopy west", "krone west", "krone w", "couronne ouest"],
        not: &["date"],
    },
    RoleNames {
        role: "crown",
        check: Check::Number,
        names: &[
            "crown diameter", "crown spread", "crown width", "crown diam", "canopy diameter", "canopy spread", "canopy width", "average crown spread", "crown radius",
            "canopy radius", "=spread", "tree spread", "drip line diameter", "dripline diameter", "drip line radius", "dripline radius", "dripline", "drip line",
            "diametre couronne", "diametre houppier", "diametre de couronne", "envergure", "rayon couronne", "kronendurchmesser", "kronendurchm", "kronenbreite", "kronenradius",
            "krone durchmesser", "diametro copa", "diametro de copa", "ancho copa", "radio copa", "diametro chioma", "larghezza chioma", "diametro da copa",
            "kroondiameter", "kroonbreedte", "kronediameter", "kronebredde", "kronbredd", "krondiameter", "srednica korony", "prumer koruny", "sirka koruny", "premer krosnje",
            "=crown", "=canopy", "=krone",
        ],
        not: &["root", "condition", "class", "area", "base", "health", "dieback", "height", "loss", "code", "cover", "unit", "units", "date"],
    },
    RoleNames {
        role: "height",
        check: Check::Number,
        names: &[
            "tree height", "height", "total height", "=ht", "=h", "hauteur", "baumhohe", "baumhoehe", "=hohe", "=hoehe", "=altura", "altura total", "altura arbol",
            "altezza", "boomhoogte", "hoogte", "=hojde", "traehojde", "tradhojd", "=hojd", "=hoyde", "trehoyde", "wysokosc", "vyska", "visina",
        ],
        not: &[
            "crown", "canopy", "base", "class", "range", "id", "clearance", "first", "breast", "brust", "pecho", "pit", "fence", "code", "unit", "units", "date", "category", "standard",
        ],
    },
    RoleNames {
        role: "life_stage",
        check: Check::LifeStage,
        names: &[
            "life stage", "lifestage", "age class", "ageclass", "age category", "age group", "maturity", "growth stage", "development stage", "developmental stage", "altersklasse", "altersphase",
            "lebensphase", "entwicklungsphase", "stade de developpement", "stade developpement", "stadedeveloppement", "classe age", "classe d age", "fase de desarrollo", "fase vital", "clase de edad",
            "fase di sviluppo", "classe di eta", "fase de desenvolvimento", "levensfase", "ontwikkelingsfase", "leeftijdsklasse", "aldersklasse", "alderklasse", "aldersklass", "=age", "tree age", "=alter",
            "=edad", "=eta", "=leeftijd", "=alder", "=idade",
        ],
        not: &["date", "id", "code"],
    },
    RoleNames {
        role: "age",
        check: Check::Years,
        names: &[
            "tree age", "=age", "age years", "age in years", "age yrs", "estimated age", "approximate age", "baumalter", "=alter", "alter jahre", "age estime", "=edad", "edad estimada", "=eta",
            "eta stimata", "=idade", "leeftijd", "boomleeftijd", "=alder", "=wiek", "=vek", "=stari", "starost",
        ],
        not: &["class", "category", "group", "date", "planted", "planting", "id", "code", "pavement", "building"],
    },
    RoleNames {
        role: "status",
        check: Check::Status,
        names: &[
            "tree status", "life status", "status", "=alive", "site status", "present", "=statut", "baumstatus", "=estatus", "situacion", "situacao", "site type",
        ],
        not: &["date", "permit", "heritage", "owner", "removal", "retention", "health", "code", "id"],
    },
    RoleNames {
        role: "condition",
        check: Check::Any,
        names: &[
            "tree condition", "overall condition", "condition", "condition class", "condition rating", "tree health", "health", "vitality", "vitalitat", "vitalitaet",
            "zustand", "gesundheit", "etat sanitaire", "=etat", "vigueur", "estado fitosanitario", "=estado", "condizione", "stato vegetativo", "=stato", "vitalita", "conditie",
            "vitaliteit", "tilstand", "kondition", "stan zdrowotny", "=stan", "zdravotni stav", "stanje", "vitalnost",
        ],
        not: &["site", "sidewalk", "wire", "date", "code", "id", "soil", "pit"],
    },
    RoleNames {
        role: "owner",
        check: Check::Any,
        names: &[
            "owner", "ownership", "owned by", "land owner", "landowner", "maintained by", "managed by", "custodian", "proprietaire", "eigentumer", "eigentuemer", "propietario",
            "proprietario", "eigenaar", "=ejer", "=eier", "=agare", "wlasciciel", "vlastnik", "lastnik",
        ],
        not: &["phone", "email", "address", "date", "id", "code"],
    },
    RoleNames {
        role: "disposition",
        check: Check::Disposition,
        names: &[
            "disposition", "proposed disposition", "proposed action", "tree action", "retain remove", "retain or remove", "retention", "removal status", "action",
            "proposal", "massnahme", "verbleib", "devenir", "accion", "azione", "maatregel", "atgard", "tiltag", "tiltak",
        ],
        not: &["date", "id", "code"],
    },
    RoleNames {
        role: "designated",
        check: Check::YesNo,
        names: &[
            "designated", "heritage tree", "heritage", "landmark tree", "landmark", "significant tree", "significant", "exceptional tree", "exceptional", "protected tree", "protected",
            "naturdenkmal", "arbre remarquable", "remarquable", "monumental", "monumentale", "beschermd", "monumentaal", "pomnik przyrody", "pamatny strom",
            "singular", "arbol singular", "fredet", "skyddat",
        ],
        not: &["date", "id", "code", "zone", "class", "type"],
    },
    RoleNames {
        role: "accuracy",
        check: Check::Number,
        names: &[
            "position accuracy", "positional accuracy", "position error", "horizontal accuracy", "gps accuracy", "location accuracy", "est horizontal accuracy", "h accuracy",
            "haccuracy", "accuracy", "lagegenauigkeit", "genauigkeit",
        ],
        not: &["vertical", "date", "class", "code", "dbh", "diameter", "height"],
    },
    RoleNames {
        role: "date",
        check: Check::Any,
        names: &[
            "inventory date", "survey date", "date inventory", "date surveyed", "date inventoried", "inspection date", "inspect date", "last inspection", "date inspected",
            "last inspected", "collection date", "date collected", "observation date", "measured date", "date measured", "last update", "last updated", "date updated",
            "update date", "last edited date", "last edited", "edited date", "edit date", "editdate", "modified date", "date modified", "last modified", "aufnahmedatum", "stand datum",
            "date releve", "date de releve", "date maj", "date de mise a jour", "fecha inventario", "fecha de inventario", "data rilievo", "opnamedatum", "inventeringsdatum",
            "created date", "date created", "=date", "=datum", "=fecha", "=data", "=dato",
        ],
        not: &["plant", "planted", "planting", "removal", "removed", "due", "next", "work", "permit", "warranty", "by", "user", "dbh", "diameter"],
    },
];

/// Roles of the columns of a file of works, in the order in which columns are given out.
#[rustfmt::skip]
pub const WORK_ROLES: &[RoleNames] = &[
    RoleNames {
        role: "permit",
        check: Check::Any,
        names: &[
            "permit id", "permit number", "permit no", "permit nr", "permit num", "permitid", "permitnumber", "=permit", "application number", "application id", "application no", "app no",
            "=application", "case id", "case number", "case no", "caseid", "record id", "record number", "project id", "project number", "project no", "file number", "folder number",
            "=permis", "no permis", "numero permis", "num permis", "numero de permis", "aktenzeichen", "bauantrag", "genehmigung", "antragsnummer", "expediente", "num expediente",
            "numero expediente", "=licencia", "num licencia", "numero licencia", "numero pratica", "=pratica", "permesso", "numero permesso", "=processo", "numero processo", "alvara",
            "zaaknummer", "vergunning", "vergunningnummer", "sagsnummer", "saksnummer", "diarienummer", "=arende", "nr pozwolenia", "pozwolenie", "cislo povoleni", "povoleni",
            "dovoljenje", "st dovoljenja",
        ],
        not: &["date", "status", "type", "kind", "issued", "description", "class", "name"],
    },
    RoleNames {
        role: "id",
        check: Check::Id,
        names: &[
            "work id", "workid", "work number", "work no", "feature id", "polygon id", "=id", "=number", "=nummer", "=nr", "=no", "=object id", "=objectid", "global id",
            "globalid", "=gid", "=fid", "=ogc fid",
        ],
        not: &["permit", "case", "application", "parent", "user", "owner"],
    },
    RoleNames {
        role: "kind",
        check: Check::Text,
        names: &[
            "work kind", "kind of work", "=kind", "work type", "worktype", "type of work", "=work", "=works", "activity", "construction type", "structure type",
            "permit type", "feature type", "vorhaben", "art der massnahme", "massnahme", "type de travaux", "type travaux", "nature travaux", "nature des travaux", "tipo de obra",
            "tipo obra", "tipo lavoro", "tipologia", "werkzaamheden", "soort werk", "type arbejde", "type arbeid", "arbetstyp", "rodzaj robot", "typ prace", "vrsta dela", "=type",
            "=typ", "=tipo", "=art", "=soort", "=use", "=category",
        ],
        not: &["date", "status", "id", "code", "number", "case"],
    },
    RoleNames {
        role: "status",
        check: Check::Any,
        names: &["permit status", "case status", "application status", "status", "=statut", "=estado", "=stato", "=state", "=stav", "=stan", "=stanje"],
        not: &["date", "id", "code"],
    },
    RoleNames {
        role: "date",
        check: Check::Any,
        names: &[
            "issue date", "issued date", "date issued", "permit date", "application date", "date applied", "applied date", "submitted date", "=issued", "=date", "=datum", "=fecha",
            "=data", "=dato", "date delivrance", "created date",
        ],
        not: &["expiry", "expired", "edited", "update", "updated"],
    },
    RoleNames {
        role: "width",
        check: Check::Number,
        names: &["trench width", "work width", "=width", "=largeur", "=breite", "=ancho", "=anchura", "=larghezza", "=largura", "=breedte", "=bredde", "=bredd", "=szerokosc", "=sirka", "=sirina"],
        not: &["lot", "street", "parcel"],
    },
    RoleNames {
        role: "radius",
        check: Check::Number,
        names: &["work radius", "=radius", "=rayon", "=radio", "=raggio", "=raio", "=straal", "=radie", "=promien", "=polomer"],
        not: &[],
    },
    RoleNames {
        role: "depth",
        check: Check::Number,
        names: &[
            "excavation depth", "trench depth", "work depth", "max depth", "=depth", "=profondeur", "=tiefe", "=profundidad", "=profundidade", "=profondita", "=diepte", "=dybde", "=djup",
            "=glebokosc", "=hloubka", "=globina",
        ],
        not: &["lot", "parcel"],
    },
    RoleNames {
        role: "margin",
        check: Check::Number,
        names: &["=margin", "overdig", "working space", "=arbeitsraum", "=marge", "=margen", "=margine"],
        not: &[],
    },
    RoleNames {
        role: "lasting",
        check: Check::Lasting,
        names: &[
            "=lasting", "permanence", "temporary permanent", "temporary or permanent", "temp or perm", "temp perm", "permanent temporary", "permanent or temporary", "=temporary",
            "=duration", "duration type", "work duration", "=duree", "=dauer", "=duracion", "=durata", "=duur", "=varighet", "=varighed",
        ],
        not: &["date", "days", "weeks", "months", "id", "code"],
    },
    RoleNames {
        role: "mitigation",
        check: Check::Text,
        names: &[
            "mitigation", "mitigations", "mitigation measures", "mitigation method", "tree protection measures", "tree protection", "root protection measures", "root protection",
            "protection measures", "protective measures", "mesures de protection", "mesures attenuation", "schutzmassnahme",
            "schutzmassnahmen", "baumschutzmassnahmen", "wurzelschutz", "medidas de proteccion", "misure di protezione", "beschermingsmaatregelen", "beskyttelsestiltak",
            "skyddsatgarder",
        ],
        not: &["date", "id", "code", "zone", "fee", "bond"],
    },
    RoleNames { role: "place", check: Check::Place, names: PLACE, not: &["error", "accuracy", "note", "date"] },
    RoleNames { role: "x", check: Check::Number, names: &[], not: &["error", "accuracy"] },
    RoleNames { role: "y", check: Check::Number, names: &[], not: &["error", "accuracy"] },
];

/// Roles of the columns of a layer of ground: those of works that say where they lie and how wide they are.
pub fn ground_roles() -> Vec<RoleNames> {
    let wanted = ["id", "kind", "width", "radius", "place", "x", "y"];
    WORK_ROLES.iter().filter(|rule| wanted.contains(&rule.role)).copied().collect()
}
