import adapter from '@sveltejs/adapter-node';
import { sveltekit } from '@sveltejs/kit/vite';
import { defineConfig } from 'vitest/config';

const node = { environment: 'node' as const, testTimeout: 60_000, hookTimeout: 60_000 };

export default defineConfig({
	plugins: [
		sveltekit({
			adapter: adapter({ out: 'build' }),
			csp: {
				mode: 'nonce',
				directives: {
					'default-src': ['none'],
					'script-src': ['self'],
					'style-src': ['self'],
					// Charts and the week place their pieces by style attributes.
					'style-src-attr': ['unsafe-inline'],
					'img-src': ['self', 'data:'],
					'font-src': ['self'],
					'connect-src': ['self'],
					'form-action': ['self'],
					'base-uri': ['none'],
					'object-src': ['none'],
					'frame-ancestors': ['none']
				}
			}
		})
	],
	test: {
		projects: [
			{ test: { ...node, name: 'unit', include: ['src/**/*.test.ts', 'demo-data/**/*.test.ts'] } },
			{ test: { ...node, name: 'architecture', include: ['tests/architecture/**/*.test.ts'] } },
			{ test: { ...node, name: 'published', include: ['tests/published/**/*.test.ts'] } },
			{ test: { ...node, name: 'database', include: ['tests/database/**/*.test.ts'] } },
			{
				// The same again on a stand-in for a libSQL server, but for what is about the file itself.
				test: {
					...node,
					name: 'database-remote',
					include: ['tests/database/**/*.test.ts'],
					exclude: ['kills', 'disk', 'backup'].map((each) => `tests/database/${each}.test.ts`),
					env: { TEST_DATABASE: 'remote' },
					testTimeout: 120_000,
					hookTimeout: 300_000
				}
			},
			{
				test: {
					...node,
					name: 'browser',
					include: ['tests/browser/**/*.test.ts'],
					globalSetup: ['tests/support/build-once.ts'],
					testTimeout: 120_000,
					hookTimeout: 300_000,
					fileParallelism: false
				}
			}
		]
	}
});
