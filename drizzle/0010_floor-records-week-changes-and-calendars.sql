CREATE TABLE `calendar_feed` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`hash` text NOT NULL,
	`user_id` integer NOT NULL,
	`roaster_id` integer,
	`created_at` integer NOT NULL,
	`ended_at` integer,
	FOREIGN KEY (`user_id`) REFERENCES `user`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `calendar_feed_hash_unique` ON `calendar_feed` (`hash`);--> statement-breakpoint
CREATE TABLE `week_change` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`week` text NOT NULL,
	`at` integer NOT NULL,
	`by` text NOT NULL,
	`what` text NOT NULL,
	`version` integer NOT NULL,
	`slots_before` text NOT NULL,
	`plan_before` text,
	`undone_at` integer
);
--> statement-breakpoint
CREATE INDEX `week_change_week` ON `week_change` (`week`,`version`);--> statement-breakpoint
ALTER TABLE `slot` ADD `recorded_at` integer;--> statement-breakpoint
ALTER TABLE `slot` ADD `planned_start_at` integer;--> statement-breakpoint
ALTER TABLE `slot` ADD `production_id` integer REFERENCES production(id);--> statement-breakpoint
ALTER TABLE `slot` ADD `note` text DEFAULT '' NOT NULL;