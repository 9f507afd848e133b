import { compile } from './compile.ts';
import type { SearchModel, Stop, Track } from './model.ts';
import type { PlanWeights } from './objective.ts';
import type { PlanProblem } from './problem.ts';

/**
 * A relaxed week as a mixed-integer program, whose least cost no plan of the week goes below. Every plan
 * is one of the relaxed week at no more cost there; what is relaxed is the order inside a stretch between
 * two breaks. Rules:
 * 1. Each kind has a whole number of batches in each stretch of a roaster, and a mass within their limits.
 * 2. The batches, setups and warm-up of a stretch fit into its minutes; those beyond its regular minutes
 *    are overtime.
 * 3. The setup classes of a roaster follow each other on a path through its stretches. Each arc of the
 *    path that enters a class has a batch there; no classes are reached but from where the path came.
 * 4. The first stretch used in a shift has the warm-up.
 * 5. A batch is on time or late. Late ones are as late as the first end that their stretch allows.
 * 5a. Batches that have to lie between two moments of a stretch fit into the minutes between these.
 * 6. A test is in a stretch only where the one before it, first thing in its own, leaves time for cupping.
 * 7. A slot that stays costs what it costs, and the setup after what the path brings; it asks for no time,
 *    and there is no warm-up in its shift.
 */
export interface RelaxedWeek {
	/** In the LP file format, to be minimised; costs are roaster minutes. */
	readonly text: string;
	/** To be added to its least. */
	readonly constant: number;
	readonly variables: number;
}

const MINUTE_MS = 60_000;

export function relaxedWeek(problem: PlanProblem, weights: PlanWeights): RelaxedWeek {
	const { model, hopeless } = compile(problem, weights);
	const program = emptyProgram();
	const places = placesIn(model);
	for (const [t, track] of model.tracks.entries()) {
		addTrack(program, model, track, t, places);
	}
	for (let kind = 0; kind < model.kinds; kind += 1) {
		if (model.isSingle[kind] === 1) addTest(program, model, kind, places);
		else addMass(program, model, kind, places);
	}
	const locks = model.tracks.flatMap(({ stops }) =>
		stops.filter((one) => one.isLock && one.counts)
	);
	const locked = locks.reduce((sum, { lockCost }) => sum + lockCost, 0);
	return {
		text: textOf(program),
		constant: hopeless.length * weights.unplacedTest + locked,
		variables: program.names.size
	};
}

/** A kind in a stretch: the count of its batches there is the variable `name`. */
interface Place {
	readonly name: string;
	readonly t: number;
	readonly g: number;
	readonly kind: number;
	/** The most batches that have room. */
	readonly most: number;
	readonly isLate: boolean;
	/** The first end that the stretch allows, and the last; on time, or late. */
	readonly firstEndMs: number;
	readonly lastEndMs: number;
	readonly lastsMs: number;
}

/** Every kind in every stretch that could hold a batch of it. */
function placesIn(model: SearchModel): readonly Place[] {
	const notBeforeMs = Float64Array.from(model.notBeforeMs);
	let places: readonly Place[] = [];
	// Once more for every link of the longest chain of tests (rule 6).
	for (let isNew = true; isNew;) {
		places = model.tracks.flatMap((track, t) =>
			track.stops.flatMap((stop, g) =>
				stop.isLock
					? []
					: Array.from(notBeforeMs.keys()).flatMap((kind) =>
							placeOf(model, { track, t, stop, g }, kind, notBeforeMs[kind]!)
						)
			)
		);
		isNew = false;
		for (const [kind, before] of model.after.entries()) {
			if (before < 0) continue;
			const own = places.filter((one) => one.kind === before);
			const leastMs = Math.min(...own.map(({ firstEndMs }) => firstEndMs)) + model.lagMs;
			if (leastMs <= notBeforeMs[kind]!) continue;
			notBeforeMs[kind] = leastMs;
			isNew = true;
		}
	}
	return places;
}

function placeOf(
	model: SearchModel,
	{ track, t, stop, g }: { track: Track; t: number; stop: Stop; g: number },
	kind: number,
	notBeforeMs: number
): readonly Place[] {
	if (track.takes[kind] === 0) return [];
	const lastsMs = track.lastsMs[kind]!;
	const hours =
		model.needsPresence[kind] === 1
			? model.presences
			: [{ startMs: stop.startMs, endMs: stop.endMs }];
	const ends = hours.flatMap(({ startMs, endMs }) => {
		const firstEndMs = Math.max(startMs, stop.startMs, notBeforeMs) + lastsMs;
		const lastEndMs = Math.min(endMs, stop.endMs);
		return firstEndMs <= lastEndMs ? [{ firstEndMs, lastEndMs }] : [];
	});
	const [first, last] = [ends[0], ends.at(-1)];
	if (!first || !last) return [];
	const dueMs = model.dueMs[kind]!;
	const { firstEndMs } = first;
	const place = (name: string, isLate: boolean, fromMs: number, toMs: number): readonly Place[] => {
		if (fromMs > toMs) return [];
		const room = Math.floor((toMs - (isLate ? firstEndMs : fromMs)) / lastsMs) + 1;
		const most = model.isSingle[kind] === 1 ? 1 : room;
		const ends = { firstEndMs: fromMs, lastEndMs: toMs };
		return [{ name: `${name}${t}_${g}_${kind}`, t, g, kind, most, isLate, lastsMs, ...ends }];
	};
	return [
		...place('n', false, firstEndMs, Math.min(last.lastEndMs, dueMs)),
		...(last.lastEndMs > dueMs ? place('l', true, Math.max(firstEndMs, dueMs), last.lastEndMs) : [])
	];
}

function addTrack(
	program: Program,
	model: SearchModel,
	track: Track,
	t: number,
	places: readonly Place[]
): void {
	const classes = classesOf(model, track, t, places);
	for (const c of classes) {
		const isFirst = c === track.firstClass ? 1 : 0;
		row(program, [[1, `s${t}_0_${c}`]], '=', isFirst);
	}
	for (const [g, stop] of track.stops.entries()) {
		if (stop.isLock) addLock(program, model, track, t, g, classes);
		else {
			const own = places.filter((one) => one.t === t && one.g === g);
			addStretch(program, model, { track, t, stop, g }, classes, own);
			addPath(program, model, track, t, g, classes, own);
		}
	}
}

/** The setup classes that the roaster may see. */
function classesOf(
	{ classOf }: SearchModel,
	{ firstClass, stops }: Track,
	t: number,
	places: readonly Place[]
): readonly number[] {
	const kinds = new Set(places.filter((one) => one.t === t).map(({ kind }) => classOf[kind]!));
	const locks = stops.filter(({ isLock }) => isLock).map(({ lockClass }) => lockClass);
	return [...new Set([firstClass, ...kinds, ...locks])];
}

/** Rule 7: the path goes through the slot's class. */
function addLock(
	program: Program,
	model: SearchModel,
	track: Track,
	t: number,
	g: number,
	classes: readonly number[]
): void {
	const { lockClass, counts } = track.stops[g]!;
	for (const c of classes) {
		if (counts) cost(program, track.setupCost[c * model.classes + lockClass]!, `s${t}_${g}_${c}`);
		row(program, [[1, `s${t}_${g + 1}_${c}`]], '=', c === lockClass ? 1 : 0);
	}
}

interface Stretch {
	readonly track: Track;
	readonly t: number;
	readonly stop: Stop;
	readonly g: number;
}

/** Rules 2 and 4. */
function addStretch(
	program: Program,
	model: SearchModel,
	{ track, t, stop, g }: Stretch,
	classes: readonly number[],
	places: readonly Place[]
): void {
	const used = `v${t}_${g}`;
	integer(program, used, 1);
	const minutes: Term[] = places.map(({ name, kind }) => [minutesOf(track.lastsMs[kind]!), name]);
	for (const [c, d] of arcs(classes)) {
		const at = c * model.classes + d;
		const arc = `a${t}_${g}_${c}_${d}`;
		integer(program, arc, places.length === 0 ? 0 : 9);
		cost(program, track.setupCost[at]!, arc);
		minutes.push([minutesOf(track.setupMs[at]!), arc]);
	}
	const inShift = coldShift(track, g);
	if (inShift.length > 0) {
		const warm = `w${t}_${g}`;
		integer(program, warm, 1);
		cost(program, track.warmUpCost, warm);
		minutes.push([minutesOf(track.warmUpMs), warm]);
		row(program, [[1, used], ...inShift.map((f): Term => [-1, `w${t}_${f}`])], '<=', 0);
	}
	const lengthMin = minutesOf(stop.endMs - stop.startMs);
	row(program, [...minutes, [-lengthMin, used]], '<=', 0);
	const regularMin = minutesOf(stop.regularEndMs - stop.startMs);
	if (regularMin < lengthMin && model.overtimeMsCost > 0) {
		const over = `o${t}_${g}`;
		cost(program, model.overtimeMsCost * MINUTE_MS, over);
		row(program, [...minutes, [-regularMin, used], [-1, over]], '<=', 0);
	}
	addBetween(program, track, stop, inShift.length > 0 ? `w${t}_${g}` : null, places);
	for (const { name, most, kind } of places) {
		integer(program, name, most);
		cost(program, track.batchCost[kind]!, name);
		row(
			program,
			[
				[1, name],
				[-most, used]
			],
			'<=',
			0
		);
	}
}

/** Rule 5a; the warm-up, where there is one, comes before all batches. */
function addBetween(
	program: Program,
	{ warmUpMs }: Track,
	stop: Stop,
	warm: string | null,
	places: readonly Place[]
): void {
	const startOf = (one: Place) => one.firstEndMs - one.lastsMs;
	const starts = new Set([stop.startMs, ...places.map(startOf)]);
	const ends = new Set([stop.endMs, ...places.map(({ lastEndMs }) => lastEndMs)]);
	for (const fromMs of starts)
		for (const toMs of ends) {
			const isWhole = fromMs === stop.startMs && toMs === stop.endMs;
			if (isWhole || toMs <= fromMs) continue;
			const inside = places.filter((one) => startOf(one) >= fromMs && one.lastEndMs <= toMs);
			if (inside.length === 0) continue;
			const terms = inside.map(({ name, lastsMs }): Term => [minutesOf(lastsMs), name]);
			const warmMin = minutesOf(Math.min(warmUpMs, toMs - fromMs));
			if (warm !== null && fromMs === stop.startMs) terms.push([warmMin, warm]);
			row(program, terms, '<=', minutesOf(toMs - fromMs));
		}
}

/** The stretches of a shift up to one in which the roaster is surely cold before the first slot. */
function coldShift({ stops, firstEndMs, warmUpMs }: Track, g: number): readonly number[] {
	const { shiftStartMs } = stops[g]!;
	if (warmUpMs === 0 || firstEndMs > shiftStartMs) return [];
	const inShift: number[] = [];
	for (let f = 0; f <= g; f += 1) {
		const stop = stops[f]!;
		if (stop.shiftStartMs === shiftStartMs && !stop.isLock) inShift.push(f);
		else if (stop.endMs > shiftStartMs) return [];
	}
	return inShift;
}

/** Rule 3. */
function addPath(
	program: Program,
	model: SearchModel,
	track: Track,
	t: number,
	g: number,
	classes: readonly number[],
	places: readonly Place[]
): void {
	const state = (at: number, c: number) => `s${t}_${at}_${c}`;
	const arc = (c: number, d: number) => `a${t}_${g}_${c}_${d}`;
	const others = (c: number) => classes.filter((d) => d !== c);
	for (const c of classes) {
		const inflow = others(c).map((d): Term => [1, arc(d, c)]);
		const outflow = others(c).map((d): Term => [-1, arc(c, d)]);
		row(program, [[1, state(g, c)], ...inflow, ...outflow, [-1, state(g + 1, c)]], '=', 0);
		const own = places.filter(({ kind }) => model.classOf[kind] === c);
		row(program, [...inflow, ...own.map(({ name }): Term => [-1, name])], '<=', 0);
		if (own.length === 0) continue;
		const seen = `z${t}_${g}_${c}`;
		integer(program, seen, 1);
		for (const { name, most } of own)
			row(
				program,
				[
					[1, name],
					[-most, seen]
				],
				'<=',
				0
			);
		for (const group of groupsWith(c, classes)) {
			const entered = group.flatMap((d): readonly Term[] => [
				[-1, state(g, d)],
				...classes.filter((e) => !group.includes(e)).map((e): Term => [-1, arc(e, d)])
			]);
			row(program, [[1, seen], ...entered], '<=', 0);
		}
	}
}

/** Groups of up to three classes with a class in them. */
function groupsWith(c: number, classes: readonly number[]): readonly (readonly number[])[] {
	const others = classes.filter((d) => d !== c);
	const pairs = others.map((d) => [c, d]);
	const threes = others.flatMap((d, i) => others.slice(i + 1).map((e) => [c, d, e]));
	return [[c], ...pairs, ...threes];
}

function arcs(classes: readonly number[]): readonly (readonly [number, number])[] {
	return classes.flatMap((c) => classes.filter((d) => d !== c).map((d) => [c, d] as const));
}

/** Rules 1 and 5, for production. */
function addMass(
	program: Program,
	model: SearchModel,
	kind: number,
	places: readonly Place[]
): void {
	const own = places.filter((one) => one.kind === kind);
	const left = `u${kind}`;
	cost(program, model.unplacedCost[kind]!, left);
	const held: Term[] = [[1, left]];
	const hold = (name: string, t: number, batches: readonly Place[]) => {
		const { minG, maxG } = model.tracks[t]!;
		held.push([1, name]);
		row(program, [[1, name], ...batches.map((one): Term => [-maxG / 1000, one.name])], '<=', 0);
		row(program, [[-1, name], ...batches.map((one): Term => [minG / 1000, one.name])], '<=', 0);
	};
	for (const [t] of model.tracks.entries()) {
		const onTime = own.filter((one) => one.t === t && !one.isLate);
		if (onTime.length > 0) hold(`m${t}_${kind}`, t, onTime);
	}
	for (const one of own) {
		if (!one.isLate) continue;
		const name = `m${one.t}_${one.g}_${kind}`;
		hold(name, one.t, [one]);
		cost(program, lateCost(model, one), name);
	}
	row(program, held, '=', model.massG[kind]! / 1000);
}

/** What a kilogram (or a test) costs there for being late, at the least. */
function lateCost(model: SearchModel, { kind, isLate, firstEndMs }: Place): number {
	const lateMs = firstEndMs - model.dueMs[kind]!;
	return isLate ? model.lateCost[kind]! + model.lateMsCost[kind]! * lateMs : 0;
}

/** Rules 5 and 6, for a test. */
function addTest(
	program: Program,
	model: SearchModel,
	kind: number,
	places: readonly Place[]
): void {
	const own = places.filter((one) => one.kind === kind);
	const left = `u${kind}`;
	cost(program, model.unplacedCost[kind]!, left);
	row(program, [[1, left], ...own.map(({ name }): Term => [1, name])], '=', 1);
	for (const one of own) cost(program, lateCost(model, one), one.name);
	const before = model.after[kind]!;
	if (before < 0) return;
	const earlier = places.filter((one) => one.kind === before);
	for (const one of own) {
		const lastStartMs = one.lastEndMs - model.tracks[one.t]!.lastsMs[kind]!;
		const first = earlier.filter(({ firstEndMs }) => firstEndMs + model.lagMs <= lastStartMs);
		row(program, [[1, one.name], ...first.map(({ name }): Term => [-1, name])], '<=', 0);
	}
}

function minutesOf(ms: number): number {
	return ms / MINUTE_MS;
}

/** A factor and a variable. */
type Term = readonly [number, string];

interface Program {
	readonly costs: Term[];
	readonly rows: string[];
	readonly names: Set<string>;
	readonly integers: Map<string, number>;
}

function emptyProgram(): Program {
	return { costs: [], rows: [], names: new Set(), integers: new Map() };
}

function cost({ costs, names }: Program, per: number, name: string): void {
	names.add(name);
	if (per !== 0) costs.push([per, name]);
}

function row(
	{ rows, names }: Program,
	terms: readonly Term[],
	sign: '<=' | '=',
	right: number
): void {
	for (const [, name] of terms) names.add(name);
	rows.push(`${sumText(terms)} ${sign} ${right}`);
}

/** A whole number from 0 to the most. */
function integer({ integers, names }: Program, name: string, most: number): void {
	names.add(name);
	integers.set(name, most);
}

function sumText(terms: readonly Term[]): string {
	const parts = terms.map(([by, name]) => `${by < 0 ? '-' : '+'} ${Math.abs(by)} ${name}`);
	return parts.join('\n ');
}

function textOf({ costs, rows, integers }: Program): string {
	const bounds = [...integers].map(([name, most]) => `${name} <= ${most}`);
	return [
		'Minimize',
		` cost: ${sumText(costs)}`,
		'Subject To',
		...rows.map((text, i) => ` r${i}: ${text}`),
		'Bounds',
		...bounds.map((text) => ` ${text}`),
		'Generals',
		...[...integers.keys()].map((name) => ` ${name}`),
		'End',
		''
	].join('\n');
}
