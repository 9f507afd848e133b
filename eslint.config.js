import { defineConfig, includeIgnoreFile } from 'eslint/config';
import { builtinRules } from 'eslint/use-at-your-own-risk';
import svelte from 'eslint-plugin-svelte';
import ts from 'typescript-eslint';
import { fileURLToPath } from 'node:url';

/**
 * ESLint's own recommended rules. The config that lists them is a package of its own; the rules say
 * for themselves whether they are recommended, so the list is read from them and needs no package.
 */
const recommended = Object.fromEntries(
	[...builtinRules]
		.filter(([, rule]) => rule.meta?.docs?.recommended === true)
		.map(([name]) => [name, 'error'])
);

export default defineConfig(
	includeIgnoreFile(fileURLToPath(new URL('.gitignore', import.meta.url))),
	{ rules: recommended },
	ts.configs.recommended,
	svelte.configs.recommended,
	svelte.configs.prettier,
	{
		linterOptions: { reportUnusedDisableDirectives: 'error', reportUnusedInlineConfigs: 'error' },
		rules: {
			// The type checker knows every name, in TypeScript, Svelte and checked JavaScript alike.
			'no-undef': 'off',
			'@typescript-eslint/no-unused-vars': [
				'error',
				{ argsIgnorePattern: '^_', destructuredArrayIgnorePattern: '^_', ignoreRestSiblings: true }
			],
			'@typescript-eslint/consistent-type-imports': ['error', { fixStyle: 'inline-type-imports' }],
			// `import { type A }` alone would still load the module.
			'@typescript-eslint/no-import-type-side-effects': 'error',
			eqeqeq: ['error', 'always'],
			'no-var': 'error',
			'prefer-const': 'error'
		}
	},
	{
		files: ['**/*.svelte', '**/*.svelte.ts'],
		languageOptions: { parserOptions: { parser: ts.parser, extraFileExtensions: ['.svelte'] } },
		rules: {
			// Svelte props are destructured with `let`, some of them bindable; svelte's own rule knows which.
			'prefer-const': 'off',
			'svelte/prefer-const': ['error', { destructuring: 'all' }],
			// The app is always served from the root of its own address, so plain links are enough.
			'svelte/no-navigation-without-resolve': 'off'
		}
	}
);
