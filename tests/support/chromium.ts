import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { chromium, type Browser } from 'playwright-core';

const USUAL_PATHS = [
	'/usr/bin/chromium',
	'/usr/bin/chromium-browser',
	'/usr/bin/google-chrome',
	'/usr/bin/google-chrome-stable',
	'/snap/bin/chromium',
	'/opt/google/chrome/chrome',
	'/Applications/Chromium.app/Contents/MacOS/Chromium',
	'/Applications/Google Chrome.app/Contents/MacOS/Google Chrome'
];

const ARGUMENTS = [
	'--no-sandbox',
	'--disable-gpu',
	'--disable-quic',
	'--no-first-run',
	'--disable-background-networking',
	'--disable-component-update',
	'--disable-sync'
];

/** Starts a headless Chromium, installing one first where that can be done (see `findChromium`). */
export async function launchChromium(): Promise<Browser> {
	return chromium.launch({ executablePath: findChromium(), args: ARGUMENTS });
}

/**
 * The path of a Chromium: CHROMIUM_PATH, the usual places, or one that apt-get brings to a Debian where
 * we are root. Throws one clear line that says how to get it where none of these works.
 */
export function findChromium(): string {
	const given = process.env['CHROMIUM_PATH'];
	if (given) {
		if (existsSync(given)) return given;
		throw new Error(`CHROMIUM_PATH is ${given}, where there is no file.`);
	}
	const path = installed() ?? (canInstall() ? install() : undefined);
	if (path !== undefined) return path;
	throw new Error(
		'No Chromium found: install one (on Debian as root "apt-get install chromium") or give its path ' +
			'as CHROMIUM_PATH.'
	);
}

function installed(): string | undefined {
	return USUAL_PATHS.find((path) => existsSync(path));
}

function canInstall(): boolean {
	return process.getuid?.() === 0 && existsSync('/usr/bin/apt-get');
}

function install(): string | undefined {
	console.log('No Chromium found; installing it with apt-get, which takes a minute or two.');
	const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
	const lock = ['-o', 'DPkg::Lock::Timeout=300'];
	execFileSync('apt-get', ['update', ...lock], { env, stdio: ['ignore', 'ignore', 'inherit'] });
	execFileSync('apt-get', ['install', '-y', '--no-install-recommends', ...lock, 'chromium'], {
		env,
		stdio: ['ignore', 'ignore', 'inherit']
	});
	return installed();
}
