import { expect, it } from 'vitest';
import { changeText, settingChanges, stepsText, type TestSettings } from './settings.ts';

const FIRST: TestSettings = {
	chargeG: 12_000,
	startC: 195,
	soakS: 60,
	gasSteps: [
		{ atS: 60, pct: 80 },
		{ atS: 330, pct: 60 }
	],
	airSteps: [{ atS: 0, pct: 40 }],
	drumRpm: 52
};

it('finds nothing where nothing changed', () => {
	expect(settingChanges(FIRST, { ...FIRST })).toEqual([]);
});

it('names the one thing that changed, with units', () => {
	expect(settingChanges(FIRST, { ...FIRST, chargeG: 10_500 })).toEqual([
		{
			field: 'chargeG',
			label: 'Charge',
			from: '12',
			to: '10.5',
			unit: 'kg',
			difference: '12 to 10.5 kg'
		}
	]);
	const [soak] = settingChanges(FIRST, { ...FIRST, soakS: 90 });
	expect(soak && changeText(soak)).toBe('Soak 60 to 90 s');
});

it('tells a change of gas steps as one change, by the times at which the gas stands otherwise', () => {
	const gasSteps = [
		{ atS: 60, pct: 85 },
		{ atS: 300, pct: 60 }
	];
	const changes = settingChanges(FIRST, { ...FIRST, gasSteps });
	expect(changes.map(changeText)).toEqual(['Gas 1:00 80 to 85 %, 5:00 80 to 60 %']);
});

it('says where a control begins earlier', () => {
	const gasSteps = [{ atS: 30, pct: 40 }, ...FIRST.gasSteps];
	const [gas] = settingChanges(FIRST, { ...FIRST, gasSteps });
	expect(gas?.difference).toBe('0:30 none to 40 %');
});

it('keeps the order of the settings when several changed', () => {
	const next = { ...FIRST, drumRpm: 55, startC: 200, airSteps: [] };
	expect(settingChanges(FIRST, next).map(changeText)).toEqual([
		'Start temperature 195 to 200 °C',
		'Air 0:00 40 % to none',
		'Drum speed 52 to 55 rpm'
	]);
});

it('reads the same control by other steps as the same', () => {
	const gasSteps = [
		{ atS: 330, pct: 60 },
		{ atS: 60, pct: 80 },
		{ atS: 200, pct: 80 }
	];
	expect(settingChanges(FIRST, { ...FIRST, gasSteps })).toEqual([]);
	expect(stepsText([])).toBe('none');
	expect(stepsText([{ atS: 119.6, pct: 50 }])).toBe('2:00 50 %');
});
