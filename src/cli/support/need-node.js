// Loaded before every command (`node --import`), in plain JavaScript so that an old Node, which cannot
// read the TypeScript entry at all, still says in one line what is wrong.
const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
if (major < 22 || (major === 22 && minor < 18)) {
	console.error(
		`Trierbook needs Node 22.18 or newer and this is ${process.version}. On 64-bit Linux "npm ci" ` +
			'brings a Node 24 that "npm run" uses by itself; elsewhere install one from nodejs.org.'
	);
	process.exit(1);
}
