CREATE TABLE `colour` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`test_batch_id` integer,
	`production_id` integer,
	`value` real NOT NULL,
	`scale` text NOT NULL,
	`at` integer NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`production_id`) REFERENCES `production`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `colour_test` ON `colour` (`test_batch_id`);--> statement-breakpoint
CREATE INDEX `colour_production` ON `colour` (`production_id`);--> statement-breakpoint
CREATE TABLE `drum_setting` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`roaster_id` integer NOT NULL,
	`setting_version` integer NOT NULL,
	`given` text NOT NULL,
	`reason` text DEFAULT '' NOT NULL,
	`at` integer NOT NULL,
	`by` text NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `drum_setting_version` ON `drum_setting` (`roaster_id`,`setting_version`);--> statement-breakpoint
ALTER TABLE `production` ADD `log_id` integer REFERENCES roast_log(id);--> statement-breakpoint
CREATE UNIQUE INDEX `production_log` ON `production` (`log_id`);--> statement-breakpoint
ALTER TABLE `recipe` ADD `standard` text;--> statement-breakpoint
ALTER TABLE `recipe` ADD `reason` text DEFAULT '' NOT NULL;