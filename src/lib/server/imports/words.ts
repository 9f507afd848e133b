/**
 * The words of the trade in headings, units and marks: English with the common German, Spanish, French
 * and Portuguese ones. Only general words, no export's own set of headings: what isn't here is
 * found by its values or mapped by hand once and remembered.
 */
import { MARKS, type MarkName } from '#lib/domain/curve/log.ts';

/** Lower case, no accents, words apart by one blank, no other signs; `Bohnen-Temp.` is `bohnen temp`. */
export function plainWords(text: string): string {
	return text
		.replace(/ß/g, 'ss')
		.normalize('NFKD')
		.replace(/\p{M}/gu, '')
		.replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
		.toLowerCase()
		.replace(/[^\p{L}\p{N}]+/gu, ' ')
		.trim();
}

/** Every unit a column can be read in. */
export const UNITS = [
	's',
	'ms',
	'min',
	'mm:ss',
	'timestamp',
	'C',
	'F',
	'%',
	'0-1',
	'g/m3',
	'g/kg',
	'kg/kg',
	'g/s',
	'kg/h',
	'rpm',
	'words',
	'flag'
] as const;
export type Unit = (typeof UNITS)[number];

/** Recognised so that a row of units is seen as one and a column can say why it is left out. */
export const OTHER_UNITS = [
	'Pa',
	'hPa',
	'kPa',
	'mbar',
	'bar',
	'psi',
	'g',
	'kg',
	'C/min',
	'V'
] as const;
export type AnyUnit = Unit | (typeof OTHER_UNITS)[number];

const UNIT_SPELLINGS: Partial<Record<AnyUnit, readonly string[]>> = {
	s: ['s', 'sec', 'secs', 'second', 'seconds', 'sek', 'sekunden', 'seg', 'segundos', 'secondes'],
	ms: ['ms', 'msec', 'milliseconds', 'millisekunden'],
	min: ['min', 'mins', 'minutes', 'minuten', 'minutos'],
	'mm:ss': ['mm:ss', 'm:ss', 'h:mm:ss', 'hh:mm:ss', 'min:s', 'min:sec', 'min:ss'],
	timestamp: ['yyyy-mm-dd hh:mm:ss', 'yyyy-mm-ddthh:mm:ss', 'iso 8601'],
	C: ['c', 'degc', 'deg c', 'celsius', 'grad c', 'oc'],
	F: ['f', 'degf', 'deg f', 'fahrenheit'],
	'%': [
		'%',
		'pct',
		'percent',
		'prozent',
		'por ciento',
		'pour cent',
		'%rh',
		'% rh',
		'rh%',
		'% r.h.',
		'%rf',
		'% rf',
		'%hr',
		'% hr',
		'% r.f.',
		'%ur',
		'% ur'
	],
	'g/m3': ['g/m3', 'g/m^3', 'g m-3', 'g m3', 'g per m3', 'gm-3'],
	'g/kg': ['g/kg', 'g kg-1', 'g kg', 'g per kg', 'g/kgda', 'g/kg da'],
	'kg/kg': ['kg/kg', 'kg kg-1', 'kg kg', 'kg per kg'],
	'g/s': ['g/s', 'g s-1', 'g s', 'g per s'],
	'kg/h': ['kg/h', 'kg h-1', 'kg h', 'kg per h', 'kg/hr'],
	rpm: ['rpm', 'r/min', 'u/min', '1/min', 'min-1', 'tr/min', 'rev/min'],
	Pa: ['pa'],
	hPa: ['hpa'],
	kPa: ['kpa'],
	mbar: ['mbar'],
	bar: ['bar'],
	psi: ['psi'],
	g: ['g', 'gram', 'grams', 'gramm'],
	kg: ['kg'],
	'C/min': ['c/min', 'degc/min', 'f/min', 'k/min', 'c/30s'],
	V: ['v', 'mv', 'ma']
};

const UNIT_BY_SPELLING = new Map(
	Object.entries(UNIT_SPELLINGS).flatMap(([unit, spellings]) =>
		spellings.map((spelling) => [spelling, unit as AnyUnit] as const)
	)
);

/** The unit that a text is, brackets and degree sign aside, or null: `[°C]` is C, `g/m³` is g/m3. */
export function unitOf(text: string): AnyUnit | null {
	if (text.length > 30) return null;
	const plain = text
		.trim()
		.replace(/^[([{]\s*(.*?)\s*[)\]}]$/, '$1')
		.replace(/³/g, '3')
		.replace(/[°º˚]/g, '')
		.replace(/⁻¹/g, '-1')
		.replace(/\s+/g, ' ')
		.trim()
		.toLowerCase();
	return UNIT_BY_SPELLING.get(plain) ?? null;
}

/** Words of a heading and the unit it names. */
export interface Heading {
	readonly words: string;
	readonly unit: AnyUnit | null;
}

/** Takes a heading apart: `Bean temp. (°C)`, `rh_pct`, `Abluft / °C`, `humidity g/kg`. */
export function readHeading(text: string): Heading {
	// A longer one is no heading, and the patterns below would take their time over it.
	if (text.length > 200) return { words: plainWords(text.slice(0, 200)), unit: null };
	const bracket = /[([{]([^()[\]{}]*)[)\]}]/.exec(text);
	if (bracket) {
		const unit = unitOf(bracket[1]!);
		if (unit) return { words: plainWords(text.replace(bracket[0], ' ')), unit };
	}
	const spaced = text.trim().replace(/_/g, ' ');
	for (const tail of [/\s+in\s+(\S.*)$/i, /\s*[/,:]\s+(\S.*)$/, /\s+(\S+\s\S+)$/, /[\s-]+(\S+)$/]) {
		const match = tail.exec(spaced);
		const unit = match ? unitOf(match[1]!) : null;
		if (match && unit) return { words: plainWords(spaced.slice(0, match.index)), unit };
	}
	return { words: plainWords(text), unit: text.includes('%') ? '%' : degreeUnit(text) };
}

function degreeUnit(text: string): AnyUnit | null {
	const match = /[°º˚]\s*([CF])\b/.exec(text);
	return match ? (match[1] as AnyUnit) : null;
}

interface Concept {
	/** Whole words. */
	readonly words: readonly string[];
	/** Parts of words, at least four letters, for languages that join them. */
	readonly parts: readonly string[];
}

const CONCEPTS = {
	time: {
		words: [
			't',
			'time',
			'date',
			'zeit',
			'hora',
			'fecha',
			'heure',
			'temps',
			'tempo',
			'sec',
			's',
			'seg',
			'sek',
			'duree',
			'dauer'
		],
		parts: [
			'elapsed',
			'timestamp',
			'datetime',
			'uhrzeit',
			'laufzeit',
			'rostzeit',
			'tiempo',
			'duracion',
			'duracao',
			'second',
			'sekund',
			'segundo',
			'horodat',
			'minute',
			'minuto'
		]
	},
	count: {
		words: [
			'no',
			'nr',
			'num',
			'index',
			'row',
			'line',
			'id',
			'count',
			'zeile',
			'fila',
			'ligne',
			'linha',
			'sample'
		],
		parts: ['number', 'nummer', 'numero', 'counter']
	},
	temperature: { words: ['temp', 'temps', 'bt', 'et'], parts: ['temperatur'] },
	bean: {
		words: ['bt', 'grain', 'grains', 'grao', 'graos', 'cafe', 'product'],
		parts: [
			'bean',
			'bohne',
			'grano',
			'coffee',
			'kaffee',
			'produkt',
			'producto',
			'produit',
			'produto'
		]
	},
	exhaust: {
		words: ['et', 'stack', 'fumes'],
		parts: [
			'exhaust',
			'offgas',
			'off gas',
			'outlet',
			'abluft',
			'abgas',
			'salida',
			'escape',
			'sortie',
			'echappement',
			'exaust',
			'saida'
		]
	},
	inlet: {
		words: [],
		parts: [
			'inlet',
			'intake',
			'supply air',
			'hot air',
			'zuluft',
			'heissluft',
			'entrada',
			'entree',
			'aire caliente',
			'air chaud',
			'ar quente'
		]
	},
	drum: { words: ['drum'], parts: ['trommel', 'tambor', 'tambour'] },
	sensor: {
		words: ['probe', 'sonde', 'sonda'],
		parts: ['sensor', 'fuhler', 'capteur', 'humid', 'feucht', 'humed', 'umidade']
	},
	humidity: {
		words: ['rh', 'hr', 'ur', 'rf', 'ah'],
		parts: [
			'humid',
			'feucht',
			'humed',
			'umidade',
			'moist',
			'vapour',
			'vapor',
			'dampf',
			'mixing ratio',
			'mischungsverhalt'
		]
	},
	relative: { words: ['rh', 'hr', 'ur', 'rf', 'rel'], parts: ['relativ'] },
	absolute: {
		words: ['abs', 'ah'],
		parts: ['absolut', 'density', 'dichte', 'densidad', 'densite']
	},
	ratio: {
		words: ['ratio'],
		parts: [
			'mixing',
			'mischung',
			'mezcla',
			'melange',
			'mistura',
			'specific',
			'spezifisch',
			'especific'
		]
	},
	flow: {
		words: ['flow', 'debit'],
		parts: ['airflow', 'luftstrom', 'massenstrom', 'mass flow', 'caudal', 'vazao', 'fluxo', 'flujo']
	},
	fan: {
		words: ['fan'],
		parts: ['blower', 'geblase', 'lufter', 'ventilador', 'ventilat', 'ventola']
	},
	air: {
		words: ['air', 'aire', 'ar', 'luft', 'damper', 'klappe'],
		parts: ['airflow', 'damper', 'luftklappe', 'compuerta', 'volet']
	},
	gas: {
		words: ['gas', 'gaz', 'heat', 'power', 'heater'],
		parts: [
			'burner',
			'brenner',
			'quemador',
			'bruleur',
			'queimador',
			'leistung',
			'potencia',
			'puissance',
			'gasdruck'
		]
	},
	turning: { words: ['rpm'], parts: ['drehzahl', 'rotation', 'rotacao', 'rotacion', 'umdrehung'] },
	speed: { words: ['speed'], parts: ['geschwindigkeit', 'velocidad', 'velocidade', 'vitesse'] },
	derived: {
		words: ['ror', 'delta', 'diff', 'derivative', 'slope'],
		parts: ['rate of rise', 'gradient', 'ableitung', 'anstieg', 'derivada', 'derivee']
	},
	setPoint: {
		words: ['set', 'soll', 'sv', 'sp', 'target'],
		parts: ['setpoint', 'set point', 'sollwert', 'consigna', 'consigne']
	},
	ambient: { words: ['room', 'raum'], parts: ['ambient', 'umgebung', 'ambiant'] },
	other: {
		words: ['weight', 'mass', 'gewicht', 'peso', 'poids', 'date', 'datum'],
		parts: ['pressure', 'druck', 'presion', 'pression', 'pressao', 'altitude']
	},
	event: {
		words: ['mark', 'marks', 'note', 'notes', 'nota', 'phase', 'fase', 'marke'],
		parts: [
			'event',
			'ereignis',
			'evenement',
			'comment',
			'kommentar',
			'bemerkung',
			'comentario',
			'notiz'
		]
	}
} satisfies Record<string, Concept>;

export type ConceptName = keyof typeof CONCEPTS;

/** Whether words already made plain speak of a concept. */
export function speaksOf(words: string, name: ConceptName): boolean {
	const concept: Concept = CONCEPTS[name];
	const list = words.split(' ');
	return (
		concept.words.some((word) => list.includes(word)) ||
		concept.parts.some((part) => words.includes(part))
	);
}

/** Phrases of each mark; drop is looked for first, since `descarga` and `discharge` hold the word charge. */
const MARK_PHRASES: Record<MarkName, readonly string[]> = {
	drop: [
		'drop',
		'dropped',
		'dump',
		'discharge',
		'beans out',
		'end',
		'end of roast',
		'auswurf',
		'entleeren',
		'entleerung',
		'ende',
		'descarga',
		'fin',
		'decharge',
		'vidange',
		'fim'
	],
	charge: [
		'charge',
		'charged',
		'load',
		'loaded',
		'beans in',
		'start',
		'einfullen',
		'einwurf',
		'fullen',
		'carga',
		'chargement',
		'carregamento',
		'inicio',
		'debut'
	],
	colourChange: [
		'colour change',
		'color change',
		'yellow',
		'yellowing',
		'end of drying',
		'gelb',
		'farbwechsel',
		'farbumschlag',
		'amarillo',
		'cambio de color',
		'jaune',
		'jaunissement',
		'changement de couleur',
		'amarelo',
		'mudanca de cor'
	],
	firstCrackEar: [
		'first crack',
		'1st crack',
		'1 crack',
		'crack',
		'crack 1',
		'crack by ear',
		'first crack by ear',
		'erster crack',
		'primer crack',
		'primer crujido',
		'premier crack',
		'premier craquement',
		'primeiro crack',
		'primeiro estalo'
	]
};

const MARK_BY_PHRASE = new Map(
	MARKS.flatMap((mark) => MARK_PHRASES[mark].map((phrase) => [phrase, mark] as const))
);

const FILLER = /\b(start|begin|beginning|beginn|of|the|event|mark|heard|by ear|ear)\b/g;

/** The mark that a cell or heading names, or null: the whole phrase counts, not a word inside a remark. */
export function markOf(text: string): MarkName | null {
	if (text.length > 60) return null;
	const plain = plainWords(text);
	const bare = plain.replace(FILLER, ' ').replace(/\s+/g, ' ').trim();
	return MARK_BY_PHRASE.get(plain) ?? MARK_BY_PHRASE.get(bare) ?? null;
}
