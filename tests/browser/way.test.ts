import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { launchChromium } from '#support/chromium.ts';
import { axeViolations, openPage, pageFaults } from '#support/page.ts';
import { startServer, type TestServer } from '#support/server.ts';
import { ROOT } from '../../src/cli/support/build.ts';

/**
 * One lot travels the whole way in a real browser: from an empty database to its release, its slots, its
 * cost and its paper. The tests follow on each other in one page; the first that fails fails the rest.
 */

const LOGS = join(ROOT, 'demo-data/logs');
const SAMPLE = 'HR-133-arrival.csv';
/** The simulator's own half-cracked moment of that log (demo-data/truth), s; invented data. */
const TRUE_CRACK_S = Number(
	readFileSync(join(ROOT, 'demo-data/truth/samples.csv'), 'utf8')
		.split('\n')
		.find((line) => line.startsWith(`logs/samples/${SAMPLE}`))!
		.split(',')[2]
);

/** Rates of the roaster, in GBP, and the minutes they are paid for. */
const RATES = {
	energyKwhPerBatch: 4,
	energyKwhPerKgGreen: 0.5,
	energyPricePerKwh: 0.08,
	labourPerHour: 18,
	machinePerHour: 9,
	qualityPerHour: 24,
	labourMinPerBatch: 10,
	qualityMinPerTest: 50
};
const CYCLE_MIN = 15;
const CHARGE_KG = 10;
const PRICE_PER_KG = 7.5;
const RECOVERED = 40;

/** Worked here from the rates alone: green + energy + labour + machine + quality. */
const COST =
	CHARGE_KG * PRICE_PER_KG +
	(RATES.energyKwhPerBatch + RATES.energyKwhPerKgGreen * CHARGE_KG) * RATES.energyPricePerKwh +
	(RATES.labourPerHour * RATES.labourMinPerBatch) / 60 +
	(RATES.machinePerHour * CYCLE_MIN) / 60 +
	(RATES.qualityPerHour * RATES.qualityMinPerTest) / 60;
const NET = COST - RECOVERED;

/** How long anything may take to show, ms. */
const PATIENCE_MS = 20_000;

let server: TestServer;
let browser: Browser;
let page: Page;

beforeAll(async () => {
	[server, browser] = await Promise.all([startServer(), launchChromium()]);
	page = await openPage(browser, server.address);
	page.setDefaultTimeout(PATIENCE_MS);
});
afterAll(async () => {
	await browser.close();
	await server.stop();
});

const go = (path: string) => page.goto(server.address + path, { waitUntil: 'networkidle' });
const path = () => new URL(page.url()).pathname;
const main = () => page.getByRole('main').innerText();

/** Types into the fields of these labels; a label counts from its start, units follow it. */
async function fill(fields: Readonly<Record<string, string>>, within = page.locator('main')) {
	for (const [label, value] of Object.entries(fields)) {
		const field = within.getByLabel(new RegExp(`^${label}`)).first();
		if ((await field.evaluate((element) => element.tagName)) === 'SELECT')
			await field.selectOption(value);
		else await field.fill(value);
	}
}

const eventually = <T>(see: () => Promise<T>) => expect.poll(see, { timeout: PATIENCE_MS });

const press = (name: string | RegExp) => page.getByRole('button', { name }).click();

/** Presses a button whose form is sent without script, and waits for the page that answers. */
async function post(name: string) {
	await Promise.all([page.waitForEvent('load'), press(name)]);
}

/** The value beside a term of a list of facts. */
async function fact(term: string): Promise<string> {
	const row = page.locator('dl > div', { has: page.locator('dt', { hasText: term }) }).first();
	return (await row.locator('dd').innerText()).trim();
}

/** Next week has every shift to come, whatever the day the test runs on. */
async function goToNextWeek() {
	await go('/week');
	const link = page.getByRole('link', { name: 'Week after' });
	await go((await link.getAttribute('href'))!);
}

test('an empty database leads to the first-run page, which axe finds nothing on', async () => {
	expect(path()).toBe('/welcome');
	expect(await main()).toContain('First comes you');
	expect(await axeViolations(page)).toEqual([]);
});

test('the owner is set up and signed in', async () => {
	await fill({ 'Your name': 'Nell', 'Sign-in name': 'nell', Password: 'short' });
	await page.locator('form').evaluate((form: HTMLFormElement) => (form.noValidate = true));
	await post('Set up the owner');
	expect(await page.getByRole('alert').innerText()).toContain('Found 5 characters');
	expect(await page.getByLabel('Your name').inputValue()).toBe('Nell');
	await fill({ Password: 'a long way to release' });
	await post('Set up the owner');
	await page.getByRole('heading', { name: 'Set up the site' }).waitFor();
	expect(await page.getByRole('banner').innerText()).toContain('Nell');
	expect(await axeViolations(page)).toEqual([]);
});

test('the site is set up; what is missing is listed with where to add it', async () => {
	await fill({ 'Name of the roastery': 'Corner Drum', 'Time zone': 'Europe/London' });
	await post('Set up the site');
	await page.waitForURL('**/setup');
	const rows = await page.getByRole('row').allInnerTexts();
	expect(rows.find((row) => row.startsWith('Site'))).toContain('done');
	for (const missing of ['Roasters', 'Shifts', 'Cost rates', 'Products', 'Lots', 'Orders'])
		expect(rows.find((row) => row.startsWith(missing))).toContain('missing');
	expect(await axeViolations(page)).toEqual([]);
});

test('a roaster is added with its shifts and its rates', async () => {
	await page.getByRole('link', { name: 'Next: Roasters' }).click();
	await page.waitForURL('**/setup/roasters');
	await fill({
		Code: 'R15',
		Name: 'Drum roaster A',
		'Smallest charge': '4',
		'Largest charge': '15',
		Roast: '12',
		Cycle: String(CYCLE_MIN)
	});
	await post('Add the roaster');
	await page.waitForURL('**/setup/roasters/R15**');
	for (const day of ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday'])
		await fill({ [`${day}, shift 1, start`]: '07:00', [`${day}, shift 1, end`]: '15:00' });
	await post('Save the shifts');
	expect(await page.getByLabel('Friday, shift 1, end').inputValue()).toBe('15:00');
	await fill({
		From: '2026-01-01',
		'Gas a batch': String(RATES.energyKwhPerBatch),
		'Gas a kg': String(RATES.energyKwhPerKgGreen),
		'Gas price': String(RATES.energyPricePerKwh),
		'Labour, per hour': String(RATES.labourPerHour),
		'Machine, beside depreciation': String(RATES.machinePerHour),
		'Quality time, per hour': String(RATES.qualityPerHour),
		'Labour a batch': String(RATES.labourMinPerBatch),
		'Quality time a test': String(RATES.qualityMinPerTest)
	});
	await post('Save the rates');
	await page.getByRole('row', { name: /1 Jan 2026/ }).waitFor();
});

test('a shift that ends before it starts is refused, and what was typed stays', async () => {
	await go('/setup/roasters/R15');
	await fill({ 'Saturday, shift 1, start': '12:00', 'Saturday, shift 1, end': '10:00' });
	await post('Save the shifts');
	const alert = page.getByRole('alert');
	await alert.waitFor();
	expect(await alert.innerText()).toContain('Saturday, shift 1, end');
	expect(await page.getByLabel('Saturday, shift 1, start').inputValue()).toBe('12:00');
});

test('the second of two writers is told, keeps the input and sees what is stored', async () => {
	await go('/setup/roasters/R15');
	const other = await page.context().newPage();
	await other.goto(`${server.address}/setup/roasters/R15`);
	await other.getByLabel('Warm-up').fill('25');
	await other.getByRole('button', { name: 'Save the roaster' }).click();
	await other.waitForURL('**/setup/roasters');
	await other.close();
	await fill({ Name: 'Drum roaster B' });
	await post('Save the roaster');
	expect(await page.getByRole('alert').innerText()).toMatch(
		/was changed by \w+, .*\(.*25.*\), while you were editing/
	);
	expect(await page.getByLabel(/^Name/).inputValue()).toBe('Drum roaster B');
	expect(await main()).toContain('Stored now: 25');
	await fill({ Name: 'Drum roaster A', 'Warm-up': '25' });
	await post('Save the roaster');
	await page.waitForURL('**/setup/roasters');
});

test('a product and a lot are added', async () => {
	await go('/setup/products');
	await fill({ Code: 'HOUSE', Name: 'House', Price: '18.00' });
	await post('Add the product');
	await page.waitForURL('**/setup/products/HOUSE');
	await go('/lots/new');
	await fill({
		'Lot code': 'A-1',
		Name: 'First lot',
		Kind: 'natural',
		Country: 'ET',
		Bag: '60',
		'Bags expected': '2'
	});
	await press('Save the lot');
	await page.waitForURL('**/lots/A-1');
	expect(await page.getByRole('heading', { level: 1 }).innerText()).toContain('A-1');
});

test('price terms are recorded and the bags weighed in', async () => {
	await go('/lots/A-1?act=terms');
	const terms = page.locator('#act-terms');
	await fill(
		{
			'Agreed on': '2026-01-10',
			Basis: 'outright',
			Price: PRICE_PER_KG.toFixed(2),
			'Price is for one': 'kg',
			Currency: 'GBP',
			'Exchange rate': '1',
			'Fixing day': '2026-01-10',
			Incoterm: 'DAP'
		},
		terms
	);
	await press('Record the terms');
	await page.locator('#terms').getByText('7.50').first().waitFor();
	await go('/lots/A-1?act=movement');
	await fill({ 'What happened': 'received', Mass: '120' }, page.locator('#act-movement'));
	await press('Record the movement');
	await page
		.locator('#stock')
		.getByText(/120\.000\W+kg on hand/)
		.waitFor();
});

test('a sample log is looked at, said what it is about, and taken in', async () => {
	await go('/intake?lot=A-1');
	await page
		.getByRole('button', { name: /^Log files/ })
		.setInputFiles(join(LOGS, 'samples', SAMPLE));
	await press(/^Read files/);
	await page.waitForURL(/\/intake\/\d+$/);
	expect(await main()).toContain('sample roast');
	await fill({
		Lot: 'A-1',
		Stage: 'arrival',
		'Roasted by': 'Ana',
		Charge: '50',
		Out: '42.7',
		'Dry air': '4'
	});
	const time = page.getByLabel(/^Roasted at/);
	if ((await time.inputValue()) === '') await time.fill(await localNow());
	await press(/^Take in/);
	await page.waitForURL(/\/samples\/\d+$/);
});

/** The minute that has begun, on the site's clock, as a date and time input takes it. */
async function localNow(): Promise<string> {
	const text = new Date().toLocaleString('sv-SE', { timeZone: 'Europe/London' });
	return text.slice(0, 16).replace(' ', 'T');
}

test('its reading has the crack within 5 s of the truth, a chart, shares and weight loss', async () => {
	const half = await fact('Half cracked at');
	const [minutes, seconds] = /(\d+):(\d{2})/.exec(half)!.slice(1).map(Number);
	expect(Math.abs(minutes! * 60 + seconds! - TRUE_CRACK_S)).toBeLessThanOrEqual(5);
	expect(await fact('Weight loss')).toMatch(/^14\.6\s*%/);
	const shares = await page
		.getByRole('table', { name: 'Shares of all released water' })
		.getByRole('cell')
		.allInnerTexts();
	const perCent = shares.filter((_, i) => i % 3 === 0).map(Number);
	expect(perCent).toHaveLength(4);
	expect(Math.abs(perCent.reduce((a, b) => a + b) - 100)).toBeLessThanOrEqual(0.2);
	const curve = page.locator('main svg path').first();
	expect((await curve.getAttribute('d'))!.length).toBeGreaterThan(500);
});

test('the same bytes again make no second roast', async () => {
	await go('/intake?lot=A-1');
	await page
		.getByRole('button', { name: /^Log files/ })
		.setInputFiles(join(LOGS, 'samples', SAMPLE));
	await press(/^Read files/);
	await eventually(main).toMatch(/same bytes|already on record|taken in before/i);
	await go('/lots/A-1');
	expect(await page.locator('#samples').getByRole('row').count()).toBe(2);
});

test('a test is planned, and its slot is in the plan of the week', async () => {
	await go('/tests/new?lot=A-1');
	await fill({
		Purpose: 'First batch from the sample reading',
		Roaster: 'R15',
		Charge: String(CHARGE_KG),
		'Start temperature': '195',
		Soak: '30',
		'Drum speed': '54',
		Gas: '0:00 70; 4:00 50',
		Air: '0:00 50; 5:00 65'
	});
	await press('Plan the test');
	await page.waitForURL('**/tests/A-1/1');
	await goToNextWeek();
	await press('Plan this week');
	const slot = page.getByRole('link', { name: /A-1 no\. 1/ });
	await slot.waitFor();
	await slot.click();
	await page.getByRole('heading', { name: /A-1 test 1/ }).waitFor();
	expect(await main()).toContain('Why it is here');
});

test('the roast is recorded with its drum log, and the log is read', async () => {
	await go('/tests/A-1/1');
	await fill({ Charge: String(CHARGE_KG), Out: '8.5' });
	await page.getByLabel(/^Drum log/).setInputFiles(join(LOGS, 'tests/HR-133-test-1.csv'));
	await press('Record the roast');
	const marks = page.getByRole('table', { name: 'Marks' });
	await marks.waitFor();
	expect(await marks.getByRole('row', { name: /First crack/ }).innerText()).toMatch(/\d+:\d{2}/);
	expect(await fact('Weight loss')).toMatch(/^15\.0\s*%/);
});

test('it is cupped: the score is the sum of the form', async () => {
	const qualities = {
		'Fragrance and aroma': 8,
		Flavour: 8.25,
		Aftertaste: 7.75,
		Acidity: 8,
		Body: 7.5,
		Balance: 8,
		Overall: 8.25
	};
	await go('/tests/A-1/1?form=2004');
	await fill(
		Object.fromEntries(Object.entries(qualities).map(([name, value]) => [name, String(value)]))
	);
	await press('Record the cupping');
	const score = Object.values(qualities).reduce((a, b) => a + b) + 3 * 10;
	const table = page.getByRole('table', { name: 'Sum form of 2004' });
	await table.waitFor();
	expect(await table.getByRole('row', { name: /^Score/ }).innerText()).toContain(score.toFixed(2));
});

test('it is approved, becomes the recipe, and the lot is released', async () => {
	await page.getByRole('radio', { name: /^approve/ }).check();
	await fill({ Reason: 'Sweet and clear' });
	await press('Give the verdict');
	await page.getByRole('heading', { name: /Approved: it is recipe 1/ }).waitFor();
	await go('/lots/A-1?act=release');
	await fill(
		{
			'Signed for roasting by': 'Owen',
			'Signed for quality by': 'Ana',
			Descriptors: 'plum, cane sugar',
			'Shelf price basis': '18.00'
		},
		page.locator('#act-release')
	);
	await press(/^Release with recipe 1/);
	await page.getByText(/Released .* with recipe 1, signed by Owen/).waitFor();
	const steps = page.getByRole('list', { name: 'Life of the lot' });
	expect(await steps.locator('[aria-current=step]').innerText()).toContain('eleased');
});

test('its product is made of it; an order becomes slots of the week', async () => {
	await go('/setup/products/HOUSE');
	await fill({ From: '2026-01-05', 'Lot of part 1': 'A-1', 'Share of part 1': '100' });
	await post('Save the blend');
	await page.getByText('From 5 Jan 2026').waitFor();
	await go('/setup/orders');
	const inputs = page.getByRole('textbox', { name: /^House, / });
	expect(await inputs.count()).toBe(8);
	await inputs.nth(1).fill('17');
	await post('Save the orders');
	expect(await page.locator('main tfoot').innerText()).toContain('17.0');
	await goToNextWeek();
	await press('Plan this week anew');
	const slots = page.getByRole('link', { name: /A-1.*HOUSE/ });
	await slots.first().waitFor();
	// 17 kg roasted at 15 % loss are 20 kg green: two batches within 4 to 15 kg.
	const charges = (await slots.allInnerTexts()).map((text) =>
		Number(/([\d.]+)\s*kg HOUSE/.exec(text)?.[1])
	);
	expect(charges).toHaveLength(2);
	expect(charges[0]! + charges[1]!).toBeCloseTo(20, 0);
});

test('its cost is what the rates and the terms make it, less what came back', async () => {
	await go('/tests/A-1/1');
	await page.getByText('Record a recovery').first().click();
	await fill(
		{ 'What became of it': 'reduced', 'Roasted coffee': '8.5', 'What it brings in': '40.00' },
		page.locator('#recovery')
	);
	await press('Record the recovery');
	const table = page.getByRole('table', { name: 'Cost of A-1 test 1' });
	await eventually(() => table.innerText()).toContain(NET.toFixed(2));
	expect(COST.toFixed(2)).toBe('100.97');
	expect(await table.getByRole('row', { name: /^Cost/ }).innerText()).toContain(COST.toFixed(2));
	await go('/lots/A-1');
	expect(await page.locator('#cost').innerText()).toContain(`£${NET.toFixed(2)} net`);
	await go('/cost');
	expect(await main()).toContain(NET.toFixed(2));
});

test('its paper is a PDF that names the lot and the net cost', async () => {
	await go('/lots/A-1');
	const link = page.getByRole('link', { name: 'Dossier (PDF)' });
	const address = new URL((await link.getAttribute('href'))!, server.address).href;
	const response = await page.request.get(address);
	expect(response.headers()['content-type']).toBe('application/pdf');
	const bytes = new Uint8Array(await response.body());
	expect(new TextDecoder('latin1').decode(bytes.slice(0, 5))).toBe('%PDF-');
	const text = await pdfText(bytes);
	expect(text).toContain('A-1 First lot');
	expect(text).toContain(NET.toFixed(2));
});

async function pdfText(data: Uint8Array): Promise<string> {
	const pdf = await getDocument({ data }).promise;
	const pages = Array.from({ length: pdf.numPages }, (_, i) => pdf.getPage(i + 1));
	const texts = await Promise.all(
		pages.map(async (one) => {
			const { items } = await (await one).getTextContent();
			return items.map((item) => ('str' in item ? item.str : '')).join(' ');
		})
	);
	return texts.join('\n');
}

test('nothing on the way broke in the browser', () => {
	// The two refusals above answer with 400 on purpose.
	expect(pageFaults(page).filter((fault) => !/400/.test(fault))).toEqual([]);
});
