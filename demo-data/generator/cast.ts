import type { LotKind } from '#lib/domain/lot/lot.ts';

/** The roastery, its people, products and suppliers. All invented; only the countries exist. */

export const SITE = {
	name: 'Halden Row Coffee',
	timeZone: 'Europe/London',
	currency: 'GBP',
	altitudeM: 40,
	releaseLeadDays: 5,
	cuppingLagHours: 24,
	testCycleDays: 5,
	supplierLeadDays: 60
} as const;

export const PEOPLE = {
	operations: 'Tilda Marsh',
	roastingLead: 'Owen Prayle',
	sampleRoaster: 'Rafe Lindow',
	quality: 'Ines Calder',
	floor: ['Bea Thornwick', 'Jonah Amsell'],
	warehouse: 'Mo Dunsey'
} as const;

export type RoasterCode = 'D15' | 'D60';

export interface RoasterSpec {
	readonly code: RoasterCode;
	readonly name: string;
	readonly minChargeKg: number;
	readonly maxChargeKg: number;
	readonly warmUpMin: number;
	readonly cycleMin: number;
	readonly roastMin: number;
	readonly cleaningMin: number;
	/** What the burner may be set to, %. */
	readonly gasPct: { readonly min: number; readonly max: number; readonly step: number };
	readonly shiftStartMin: number;
	readonly shiftEndMin: number;
	/** Charge of a usual production batch and of a test. */
	readonly usualChargeKg: number;
	readonly testChargeKg: number;
	readonly note: string;
}

export const ROASTERS: Readonly<Record<RoasterCode, RoasterSpec>> = {
	D15: {
		code: 'D15',
		name: 'Drum roaster A, 15 kg',
		minChargeKg: 4,
		maxChargeKg: 15,
		warmUpMin: 30,
		cycleMin: 15,
		roastMin: 12,
		cleaningMin: 30,
		gasPct: { min: 8, max: 100, step: 1 },
		shiftStartMin: 390,
		shiftEndMin: 930,
		usualChargeKg: 13,
		testChargeKg: 9,
		note: 'Singles, decaf and their tests'
	},
	D60: {
		code: 'D60',
		name: 'Drum roaster B, 60 kg',
		minChargeKg: 20,
		maxChargeKg: 60,
		warmUpMin: 45,
		cycleMin: 18,
		roastMin: 12,
		cleaningMin: 45,
		gasPct: { min: 8, max: 100, step: 1 },
		shiftStartMin: 390,
		shiftEndMin: 900,
		usualChargeKg: 52,
		testChargeKg: 30,
		note: 'Blends'
	}
};

export type Shade = 'light' | 'medium' | 'dark';

export interface Product {
	readonly code: string;
	readonly name: string;
	readonly shade: Shade;
	readonly pricePerKg: number;
	/** Roasted kg sold in a middle week. */
	readonly weeklyKg: number;
	/** Weekdays it is roasted on, Monday 1. */
	readonly weekdays: readonly number[];
}

export const PRODUCTS: readonly Product[] = [
	product('LANTERN', 'Lantern House Espresso', 'medium', 17.4, 290, [1, 3]),
	product('MILKYARD', 'Milk Yard Dark', 'dark', 16.2, 165, [2]),
	product('DAYFILTER', 'Day Filter', 'medium', 18.1, 115, [4]),
	product('LOWLIGHT', 'Low Light Decaf', 'medium', 20.8, 48, [5]),
	product('TERRACE', 'Terrace Organic', 'medium', 20.2, 44, [4]),
	product('FIRSTROW', 'First Row Washed', 'light', 23.5, 40, [2]),
	product('SUNBED', 'Sun Bed Natural', 'light', 24.4, 36, [1]),
	product('AMBER', 'Amber Yard Honey', 'light', 24.9, 29, [3]),
	product('SEALED', 'Sealed Tank', 'light', 33.5, 18, [3]),
	product('VISITOR', 'Visitor Single', 'light', 27.8, 24, [1])
];

function product(
	code: string,
	name: string,
	shade: Shade,
	pricePerKg: number,
	weeklyKg: number,
	weekdays: readonly number[]
): Product {
	return { code, name, shade, pricePerKg, weeklyKg, weekdays };
}

export function productOf(code: string): Product {
	const found = PRODUCTS.find((candidate) => candidate.code === code);
	if (found === undefined) throw new Error(`no product ${code}`);
	return found;
}

export interface Origin {
	readonly country: string;
	readonly producer: string;
	readonly variety: string;
	readonly name: string;
}

/** How far the lot that follows the present one has come on the anchor day. */
export type OpenTo =
	| 'expected'
	| 'arrived'
	| 'sample roasted'
	| 'queued for test'
	| 'adjusted once'
	| 'adjusted twice'
	| 'cupped'
	| 'approved';

export interface Place {
	readonly product: string;
	readonly sharePct: number;
	/** The chain whose lot of the day may stand in. */
	readonly standIn?: string;
}

/** A place in one or more blends that one lot after another fills. */
export interface Chain {
	readonly id: string;
	readonly places: readonly Place[];
	readonly roaster: RoasterCode;
	readonly kinds: readonly LotKind[];
	readonly origins: readonly Origin[];
	readonly supplier: string;
	readonly bagKg: number;
	readonly organic: boolean;
	readonly pricing: 'exchange' | 'EUR' | 'GBP';
	/** Lots that have been roasted from, the present one included. */
	readonly lots: number;
	/** Weeks of stock of the present lot after the anchor. */
	readonly coverWeeks: number;
	readonly next: OpenTo;
}

const SUPPLIERS = {
	lowland: 'Ostler and Bramm Green',
	highland: 'Quayside Seed Company',
	small: 'Norrowe Importers'
} as const;

/** Days from order to arrival where they aren't the site's usual: by sea from the mill, and from a store nearby. */
export const SUPPLIER_LEADS: readonly (readonly [supplier: string, days: number])[] = [
	[SUPPLIERS.highland, 75],
	[SUPPLIERS.small, 21]
];

export const CHAINS: readonly Chain[] = [
	{
		id: 'A',
		places: [
			{ product: 'LANTERN', sharePct: 50 },
			{ product: 'MILKYARD', sharePct: 40, standIn: 'C' }
		],
		roaster: 'D60',
		kinds: ['natural'],
		origins: [
			origin('BR', 'Sitio Pedra Morna', 'Catuai', 'Pedra Morna'),
			origin('BR', 'Fazenda Tres Cercas', 'Mundo Novo', 'Tres Cercas'),
			origin('BR', 'Sitio Vento Calado', 'Catuai', 'Vento Calado')
		],
		supplier: SUPPLIERS.lowland,
		bagKg: 60,
		organic: false,
		pricing: 'exchange',
		lots: 4,
		coverWeeks: 7.2,
		next: 'expected'
	},
	{
		id: 'B',
		places: [
			{ product: 'LANTERN', sharePct: 30, standIn: 'E' },
			{ product: 'DAYFILTER', sharePct: 50 }
		],
		roaster: 'D60',
		kinds: ['washed'],
		origins: [
			origin('CO', 'Vereda Agua Lenta group', 'Castillo', 'Agua Lenta'),
			origin('CO', 'Finca El Tejon Azul', 'Caturra', 'Tejon Azul'),
			origin('CO', 'Vereda Los Faroles group', 'Castillo', 'Los Faroles')
		],
		supplier: SUPPLIERS.highland,
		bagKg: 70,
		organic: false,
		pricing: 'exchange',
		lots: 4,
		coverWeeks: 2.6,
		next: 'adjusted once'
	},
	{
		id: 'C',
		places: [{ product: 'LANTERN', sharePct: 20 }],
		roaster: 'D60',
		kinds: ['honey'],
		origins: [
			origin('SV', 'Beneficio Piedra Clara', 'Bourbon', 'Piedra Clara'),
			origin('BR', 'Sitio Rio Manso Velho', 'Catuai', 'Rio Manso Velho'),
			origin('SV', 'Finca Las Tres Jaulas', 'Pacas', 'Tres Jaulas')
		],
		supplier: SUPPLIERS.lowland,
		bagKg: 69,
		organic: false,
		pricing: 'exchange',
		lots: 4,
		coverWeeks: 5.5,
		next: 'sample roasted'
	},
	{
		id: 'D',
		places: [{ product: 'MILKYARD', sharePct: 60 }],
		roaster: 'D60',
		kinds: ['old crop'],
		origins: [
			origin('IN', 'Hollow Fig Estate', 'S795', 'Hollow Fig'),
			origin('BR', 'Armazem Lua Parda', 'Mundo Novo', 'Lua Parda'),
			origin('IN', 'Seven Tanks Estate', 'S795', 'Seven Tanks')
		],
		supplier: SUPPLIERS.lowland,
		bagKg: 60,
		organic: false,
		pricing: 'exchange',
		lots: 3,
		coverWeeks: 6.3,
		next: 'arrived'
	},
	{
		id: 'E',
		places: [{ product: 'DAYFILTER', sharePct: 50 }],
		roaster: 'D60',
		kinds: ['washed', 'washed', 'honey', 'washed'],
		origins: [
			origin('GT', 'Finca Siete Velas', 'Bourbon', 'Siete Velas'),
			origin('HN', 'Cooperativa Cumbre Quieta', 'Lempira', 'Cumbre Quieta'),
			origin('GT', 'Finca Ojo de Niebla', 'Caturra', 'Ojo de Niebla')
		],
		supplier: SUPPLIERS.highland,
		bagKg: 69,
		organic: false,
		pricing: 'exchange',
		lots: 4,
		coverWeeks: 3.1,
		next: 'queued for test'
	},
	{
		id: 'F',
		places: [{ product: 'LOWLIGHT', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['decaf'],
		origins: [
			origin('CO', 'Vereda Agua Lenta group', 'Castillo', 'Agua Lenta decaf'),
			origin('ET', 'Qarsa Weyn station', 'local landraces', 'Qarsa Weyn decaf'),
			origin('HN', 'Cooperativa Cumbre Quieta', 'Lempira', 'Cumbre Quieta decaf')
		],
		supplier: SUPPLIERS.small,
		bagKg: 35,
		organic: false,
		pricing: 'EUR',
		lots: 4,
		coverWeeks: 0.7,
		next: 'arrived'
	},
	{
		id: 'G',
		places: [{ product: 'FIRSTROW', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['washed'],
		origins: [
			origin('ET', 'Dembi Arba station', 'local landraces', 'Dembi Arba'),
			origin('KE', 'Kiriru factory', 'SL28', 'Kiriru'),
			origin('RW', 'Ikirezi Hills station', 'Bourbon', 'Ikirezi Hills')
		],
		supplier: SUPPLIERS.small,
		bagKg: 60,
		organic: false,
		pricing: 'GBP',
		lots: 4,
		coverWeeks: 2.1,
		next: 'approved'
	},
	{
		id: 'H',
		places: [{ product: 'SUNBED', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['natural'],
		origins: [
			origin('ET', 'Qarsa Weyn station', 'local landraces', 'Qarsa Weyn'),
			origin('YE', 'Bayt Zahwan growers', 'Udaini', 'Bayt Zahwan'),
			origin('ET', 'Shilo Bench station', 'local landraces', 'Shilo Bench')
		],
		supplier: SUPPLIERS.small,
		bagKg: 60,
		organic: false,
		pricing: 'EUR',
		lots: 4,
		coverWeeks: 4.2,
		next: 'adjusted twice'
	},
	{
		id: 'I',
		places: [{ product: 'SEALED', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['anaerobic'],
		origins: [
			origin('CR', 'Micromill Dos Puertas', 'Catuai', 'Dos Puertas tank'),
			origin('CO', 'Finca El Tejon Azul', 'Pink Bourbon', 'Tejon Azul tank'),
			origin('CR', 'Micromill La Cantera Vieja', 'Villa Sarchi', 'Cantera Vieja tank')
		],
		supplier: SUPPLIERS.small,
		bagKg: 30,
		organic: false,
		pricing: 'GBP',
		lots: 5,
		coverWeeks: 1.9,
		next: 'cupped'
	},
	{
		id: 'J',
		places: [{ product: 'AMBER', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['honey'],
		origins: [
			origin('CR', 'Micromill Dos Puertas', 'Caturra', 'Dos Puertas honey'),
			origin('NI', 'Finca Barro Rojo Alto', 'Java', 'Barro Rojo Alto'),
			origin('CR', 'Micromill La Cantera Vieja', 'Catuai', 'Cantera Vieja honey')
		],
		supplier: SUPPLIERS.small,
		bagKg: 45,
		organic: false,
		pricing: 'EUR',
		lots: 4,
		coverWeeks: 4.8,
		next: 'queued for test'
	},
	{
		id: 'K',
		places: [{ product: 'TERRACE', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['washed'],
		origins: [
			origin('PE', 'Cooperativa Luz de Ladera', 'Typica', 'Luz de Ladera'),
			origin('PE', 'Asociacion Nueve Terrazas', 'Caturra', 'Nueve Terrazas')
		],
		supplier: SUPPLIERS.highland,
		bagKg: 69,
		organic: true,
		pricing: 'exchange',
		lots: 4,
		coverWeeks: 9,
		next: 'expected'
	},
	{
		id: 'L',
		places: [{ product: 'VISITOR', sharePct: 100 }],
		roaster: 'D15',
		kinds: ['anaerobic', 'natural', 'washed', 'anaerobic', 'natural', 'honey'],
		origins: [
			origin('PA', 'Finca Cerro Callado', 'Caturra', 'Cerro Callado'),
			origin('BI', 'Gitwe Ridge station', 'Bourbon', 'Gitwe Ridge'),
			origin('ID', 'Bukit Teduh growers', 'Sigarar Utang', 'Bukit Teduh'),
			origin('EC', 'Finca Manga Larga', 'Typica', 'Manga Larga'),
			origin('KE', 'Gathu Wet Mill', 'SL34', 'Gathu')
		],
		supplier: SUPPLIERS.small,
		bagKg: 30,
		organic: false,
		pricing: 'GBP',
		lots: 5,
		coverWeeks: 3.4,
		next: 'sample roasted'
	}
];

function origin(country: string, producer: string, variety: string, name: string): Origin {
	return { country, producer, variety, name };
}

/** Words a panel finds, by kind. */
export const DESCRIPTORS: Readonly<Record<LotKind, readonly string[]>> = {
	washed: ['lemon', 'black tea', 'cane sugar', 'peach', 'jasmine', 'red apple', 'almond'],
	natural: ['blueberry', 'dark chocolate', 'dried fig', 'hazelnut', 'strawberry', 'molasses'],
	honey: ['apricot', 'caramel', 'brown sugar', 'orange', 'roasted almond', 'plum'],
	decaf: ['brown sugar', 'malt', 'cocoa', 'red apple', 'walnut', 'toffee'],
	'old crop': ['cedar', 'cocoa', 'tobacco', 'clove', 'walnut', 'molasses'],
	anaerobic: ['rum', 'passion fruit', 'cinnamon', 'pineapple', 'cherry', 'cacao nib']
};
