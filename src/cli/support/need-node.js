// Loaded before every command (`node --import`), in plain JavaScript so that an old Node, which cannot
// read the TypeScript entry at all, still says in one line what is wrong.
const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
// Passwords are hashed by Node's own Argon2, there since 24.7.
if (major < 24 || (major === 24 && minor < 7)) {
	console.error(
		`Trierbook needs Node 24.7 or newer and this is ${process.version}. On 64-bit Linux "npm ci" ` +
			'brings a Node 24 that "npm run" uses by itself; elsewhere install one from nodejs.org.'
	);
	process.exit(1);
}
