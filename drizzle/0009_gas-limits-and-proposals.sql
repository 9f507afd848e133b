CREATE TABLE `test_proposal` (
	`test_batch_id` integer PRIMARY KEY NOT NULL,
	`kind` text NOT NULL,
	`proposal` text NOT NULL,
	`edited` integer NOT NULL,
	`at` integer NOT NULL,
	`by` text NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
ALTER TABLE `roaster` ADD `gas_min_pct` real DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `roaster` ADD `gas_max_pct` real DEFAULT 100 NOT NULL;--> statement-breakpoint
ALTER TABLE `roaster` ADD `gas_step_pct` real DEFAULT 1 NOT NULL;