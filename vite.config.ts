import adapter from '@sveltejs/adapter-node';
import { sveltekit } from '@sveltejs/kit/vite';
import { defineConfig } from 'vitest/config';

const node = { environment: 'node' as const, testTimeout: 30_000 };

export default defineConfig({
	plugins: [sveltekit({ adapter: adapter({ out: 'build' }) })],
	test: {
		projects: [
			{ test: { ...node, name: 'unit', include: ['src/**/*.test.ts', 'demo-data/**/*.test.ts'] } },
			{ test: { ...node, name: 'architecture', include: ['tests/architecture/**/*.test.ts'] } },
			{ test: { ...node, name: 'published', include: ['tests/published/**/*.test.ts'] } },
			{ test: { ...node, name: 'database', include: ['tests/database/**/*.test.ts'] } },
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
