/** Reads the logs of a database again, one line a batch: `node tests/support/rereadChild.ts file:…`. */
import { openDatabase } from '#lib/server/db/client.ts';
import { reread } from '#lib/server/jobs/reread.ts';

const database = await openDatabase({ url: process.argv[2]! });
await reread({
	database,
	clock: Date.now,
	by: 'test',
	onBatch: (done, total) => console.log(`${done} of ${total}`)
});
await database.close();
