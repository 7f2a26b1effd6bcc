"""Keepers' words for who rears, where a chick is kept and what it is fed, once, in the five languages of the headings.

Each list goes English, German, French, Spanish, Dutch, a line a language, from breeders' texts and from memory. Whole
words are compared, without case, accents and hyphens, and "ue" as "u": "von Hand" has the word hand, "Shand" has not.
"""

from functools import cache

from analysis.logs.headings import words_of

Words = tuple[str, ...]

HAND = "hand"  # what `season.chicks` says of a chick that is reared by hand, whatever its keeper wrote
OWN_PARENTS = "parents"  # our word for the pair that laid

BROODERS = (
    "brooder, brooders, hospital cage, hospital box",
    "aufzuchtbox, aufzuchtsbox, aufzuchtkasten, warmebox, warmekasten, krankenbox",
    "eleveuse, boite d elevage, boite chauffante",
    "criadora, caja de cria artificial, caja caliente",
    "kunstmoeder, opfokbox, opfokbak, warmtebox, warmtebak",
)
INCUBATORS = (
    "incubator, incubators, hatcher",
    "brutkasten, brutschrank, brutapparat, brutmaschine, bruter, inkubator, schlupfbruter, flachenbruter, motorbruter",
    "couveuse, incubateur, eclosoir",
    "incubadora, nacedora",
    "broedmachine, broedstoof, broedkast, uitkomstkast, uitkomstbak",
)
CUPS = (  # what a mix stands and cools in
    "cup, mug, bowl, jug, beaker, glass, pot",
    "becher, messbecher, tasse, schale, schussel, glas, kanne, krug, futterbecher",
    "tasse, bol, gobelet, verre, pichet, becher, recipient",
    "taza, vaso, bol, cuenco, jarra, tarro",
    "beker, kop, kopje, kom, kommetje, glas, bakje, mok",
)
HAND_WORDS = (  # one of these anywhere in the cell
    "hand, hands, handfed, handfeed, handfeeding, handreared, handrearing, handraised, handraising, hf, "
    "syringe, spoon, pipette, tube, gavage, crop needle, nursery, formula, pulled",
    "handaufzucht, handaufgezogen, handgefuttert, handfutterung, handzucht, hz, h z, spritze, loffel, "
    "futtersonde, kropfsonde, sondenfutterung, kinderstube, brei, aufzuchtbrei",
    "a la main, la main, eam, e a m, seringue, cuillere, biberon, gavage, nurserie, bouillie",
    "a mano, mano, papillero, papillera, papilleros, papilleras, papilla, jeringa, jeringuilla, cuchara, pipeta, sonda",
    "handopfok, handopgefokt, handgevoerd, handvoeding, handvoeren, handvoer, spuit, spuitje, pipet, lepel",
)
ME = (  # the whole cell, beside words without weight
    "me, myself, i, us, we, ourselves",
    "ich, mir, mich, uns, wir, mensch",
    "moi, moi meme, nous, je",
    "yo, mi, nosotros, conmigo",
    "ik, mij, mezelf, ons, wij",
)
PARENTS = (  # the whole cell, beside words without weight
    "parents, parent, self, selves, own, pair, themselves, them, natural, naturally, nest, hen, cock, "
    "mother, father, mum, mom, dad, dam, sire",
    "eltern, elternpaar, elternaufzucht, elternvogel, elterntiere, altvogel, selbst, selber, eigene, eigenen, paar, "
    "zuchtpaar, naturbrut, "
    "natur, naturlich, nest, henne, hahn, mutter, vater",
    "parents, couple, propres, epp, e p p, eux memes, elle meme, lui meme, naturel, naturelle, naturellement, nid, "
    "femelle, male, mere, pere",
    "padres, pareja, propios, propia, ellos, ellos mismos, ella misma, el mismo, natural, naturalmente, nido, "
    "hembra, macho, madre, padre",
    "ouders, ouderpaar, oudervogels, koppel, zelf, eigen, natuurlijk, natuur, natuurbroed, nest, pop, moeder, vader",
)
FORMULA = (  # one of these anywhere in the cell
    "formula, handfeeding, hand feeding, hand feed, handrearing, hand rearing, porridge",
    "brei, aufzuchtbrei, futterbrei, breifutter, handaufzucht, handaufzuchtfutter, handaufzuchtbrei, aufzuchtfutter",
    "bouillie, patee, elevage a la main, eam",
    "papilla, papillas, pasta de embuche, embuche, a mano",
    "pap, papje, opfokpap, handvoer, handvoeding, handopfok, handopfokvoer, opfokvoer",
)
DRY_FOODS = (  # eaten, not fed by hand; nobody takes their temperature
    "seed, seeds, greens, greenfood, fruit, fruits, apple, vegetable, vegetables, veg, pellet, pellets, millet, grit",
    "samen, saaten, saat, korner, kornerfutter, hirse, kolbenhirse, obst, gemuse, grunfutter, keimfutter, salat, apfel",
    "graine, graines, verdure, fruits, legumes, granules, millet, salade, pomme",
    "semilla, semillas, mijo, fruta, frutas, verdura, verduras, pienso, alpiste, manzana",
    "zaad, zaden, gierst, trosgierst, groente, groenten, groenvoer, korrels, kiemzaad, appel",
)
SOFT_FOODS = (  # taken while it weans, beside the dry ones
    "soft food, softfood, egg food, eggfood, sprouts, sprouted, soaked, corn, sweetcorn, rice, bread, banana, carrot, "
    "carrots, peas, broccoli, berries, pasta, potato, sweet potato, crumble, chop",
    "weichfutter, eifutter, keimlinge, gekeimt, gekeimte, quellfutter, eingeweicht, mais, reis, brot, zwieback, "
    "banane, karotte, mohre, erbsen, beeren, nudeln, kartoffel",
    "oeuf dur, graines germees, germees, trempees, mais, riz, pain, biscotte, banane, carotte, petits pois, baies",
    "germinados, germinadas, remojado, remojadas, huevo cocido, maiz, arroz, pan, platano, zanahoria, guisantes, bayas",
    "eivoer, zacht voer, zachtvoer, kiemvoer, geweekt, geweekte, mais, rijst, brood, beschuit, banaan, wortel, erwten",
)
NOBODY = (  # the whole cell: no name of a bird, pair or place
    "unknown, not known, none, no, nobody, various, several, mixed, other, new, bought, wild",
    "unbekannt, nicht bekannt, keiner, keine, niemand, nein, verschiedene, mehrere, gemischt, neu, zugekauft",
    "inconnu, inconnue, pas connu, aucun, aucune, personne, non, divers, plusieurs, mixte, autre, nouveau, achete",
    "desconocido, desconocida, ninguno, ninguna, nadie, varios, varias, mixto, otro, nuevo, comprado, salvaje",
    "onbekend, niet bekend, geen, niemand, nee, diverse, meerdere, gemengd, andere, nieuw, gekocht, wild",
)
COCKS = (
    "cock, cocks, cockbird, male, m, c, boy",
    "hahn, mannchen, mannlich",
    "male, coq, m",
    "macho, m",
    "man, mannetje, haan, m",
)
HENS = (
    "hen, hens, female, f, h, girl",
    "henne, weibchen, weiblich, w",
    "femelle, poule, f",
    "hembra, h",
    "pop, vrouwtje, hen, v",
)
_IN_DOUBT = (  # beside a sex
    "probably, maybe, perhaps, possibly, likely, looks, guess, guessed, think, thought, unknown, unsure",
    "vermutlich, wahrscheinlich, vielleicht, evtl, wohl, unbekannt, unsicher",
    "peut etre, probable, probablement, sans doute, inconnu",
    "quizas, probable, probablemente, parece, desconocido",
    "misschien, waarschijnlijk, vermoedelijk, onbekend, onzeker",
)
FOR_PAPER = (  # before a colon: a remark meant for whoever takes the bird
    "paper, buyer, new owner",
    "papier, kaufer, abgabe",
    "papier, acheteur",
    "papel, comprador",
    "papier, koper",
)
_NOTHING = (  # words without weight
    "and, both, by, the, a, an, my, their, its, our, in, at, from, on, with, only, fed, reared, raised, brought up, "
    "bio, biological, birth, real",
    "und, beide, beiden, von, vom, durch, den, die, der, das, dem, im, am, per, mit, den, ihren, seinen, meine, "
    "aufgezogen, gefuttert",
    "et, les deux, par, le, la, les, l, leur, leurs, ses, au, aux, de, des, du, chez, avec, eleve, eleves, nourri, "
    "nourris, elevage",
    "y, ambos, por, el, los, las, sus, su, en, con, del, criado, criados, criada, criadas, alimentado, alimentados",
    "en, beide, door, het, een, met, bij, hun, zijn, van, op, grootgebracht, opgefokt, opgevoed, gevoerd",
)
_NOT = (
    "not, no, never, without",
    "nicht, kein, keine, nie, ohne",
    "pas, non, jamais, sans",
    "sin, nunca",
    "niet, geen, nooit, zonder",
)


def is_brooder(name: str) -> bool:
    """Tell whether a place is called a brooder."""
    return _has(words_of(name), BROODERS)


def is_kept_warm(name: str) -> bool:
    """Tell whether a place is called a brooder or an incubator."""
    return _has(words_of(name), (*BROODERS, *INCUBATORS))


def is_cup(name: str) -> bool:
    """Tell whether a place is called a cup, or what else a mix stands in."""
    return _has(words_of(name), CUPS)


def says_only_brooder(name: str) -> bool:
    """Tell whether a cell says brooder and nothing besides, which names none of several."""
    return words_of(name) in _phrases(BROODERS)


def is_hand(text: str) -> bool:
    """Tell whether a cell says that a chick is reared by hand.

    A word for it anywhere in the cell counts, so that "parents, then hand" is by hand, unless a "not" stands before it.
    """
    words = words_of(text)
    at = _first(words, (*HAND_WORDS, *BROODERS, *INCUBATORS))
    if at >= 0:
        return not _has(words[:at], _NOT)
    return _has(words, ME) and _made_of(words, (*ME, *PARENTS))


def is_parents(text: str) -> bool:
    """Tell whether a cell says that the pair that laid does it itself."""
    words = words_of(text)
    return _has(words, PARENTS) and _made_of(words, PARENTS)


def sex_of(text: str) -> str:
    """Return the sex that a cell says, "cock" or "hen"; blank where it says neither, both, or is in doubt.

    1,0 and 0,1 and the two signs are read too: "1,0 (DNA)" is a cock, "hen?" is not known.

    Examples
    --------
    >>> sex_of("1,0 (DNA)"), sex_of("Henne"), sex_of("hen?"), sex_of("probably a cock")
    ('cock', 'hen', '', '')
    """
    words = words_of(text)
    said = {"cock": _has(words, COCKS) or "♂" in text, "hen": _has(words, HENS) or "♀" in text}
    if not any(said.values()):
        said = {"cock": words[:2] == ("1", "0"), "hen": words[:2] == ("0", "1")}
    doubt = "?" in text or _has(words, (*_IN_DOUBT, *_NOT))
    return "" if doubt or all(said.values()) else next((sex for sex, is_so in said.items() if is_so), "")


def says_only_sex(text: str) -> bool:
    """Tell whether a cell says a sex and nothing besides, as how it was found."""
    words = words_of(text)
    return bool(sex_of(text)) and (words in (("1", "0"), ("0", "1")) or _made_of(words, (*COCKS, *HENS)))


def for_paper(remark: str) -> str:
    """Return what a remark says to whoever takes the bird: what stands behind "paper:"; blank where it is private.

    Examples
    --------
    >>> for_paper("Paper: sleeps in a tent"), for_paper("sold too cheap")
    ('sleeps in a tent', '')
    """
    before, _, said = remark.partition(":")
    return said.strip() if words_of(before) in _phrases(FOR_PAPER) else ""


def is_formula(food: str) -> bool:
    """Tell whether a food whose temperature was taken is formula: all but seed, greens and the like.

    A food of another name is taken for formula, as it may be one by its maker's name, and a crop burns all the same.
    """
    words = words_of(food)
    return _has(words, FORMULA) or not _has(words, DRY_FOODS)


def is_solid(food: str) -> bool:
    """Tell whether a food is one that a chick takes by itself, dry or soft, and is not fed formula."""
    words = words_of(food)
    return _has(words, (*DRY_FOODS, *SOFT_FOODS)) and not _has(words, FORMULA)


def names_nobody(text: str) -> bool:
    """Tell whether a cell for a name says that there is none, or that it is not known."""
    return words_of(text) in _phrases(NOBODY)


def kind_of_place(name: str) -> str:
    """Return which kind of place a name is of: "brooder", "incubator", "cup"; blank for any other."""
    kinds = {"brooder": BROODERS, "incubator": INCUBATORS, "cup": CUPS}
    return next((kind for kind, lists in kinds.items() if _has(words_of(name), lists)), "")


def _has(words: Words, lists: Words) -> bool:
    """Whether any word, or run of words, of some lists stands in a text."""
    return _first(words, lists) >= 0


def _first(words: Words, lists: Words) -> int:
    """Where the first word, or run of words, of some lists begins in a text; -1 where none stands in it."""
    phrases = _phrases(lists)
    lengths = {len(phrase) for phrase in phrases}
    return next((at for at in range(len(words)) if any(words[at : at + n] in phrases for n in lengths)), -1)


def _made_of(words: Words, lists: Words) -> bool:
    """Whether a text has no word besides those of some lists and those without weight."""
    known = {word for phrase in (*_phrases(lists), *_phrases(_NOTHING)) for word in phrase}
    return all(word in known for word in words)


@cache
def _phrases(lists: Words) -> frozenset[Words]:
    return frozenset(words_of(phrase) for line in lists for phrase in line.split(","))
