CREATE TABLE `bag` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`number` integer NOT NULL,
	`weighed` integer NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `bag_number` ON `bag` (`lot_id`,`number`);--> statement-breakpoint
CREATE TABLE `bag_movement` (
	`movement_id` integer NOT NULL,
	`bag_id` integer NOT NULL,
	`mass_g` integer NOT NULL,
	`named` integer NOT NULL,
	PRIMARY KEY(`movement_id`, `bag_id`),
	FOREIGN KEY (`movement_id`) REFERENCES `movement`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`bag_id`) REFERENCES `bag`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `bag_movement_bag` ON `bag_movement` (`bag_id`);--> statement-breakpoint
CREATE TABLE `exchange_rate` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`day` text NOT NULL,
	`from_currency` text NOT NULL,
	`to_currency` text NOT NULL,
	`rate_e6` integer NOT NULL,
	`source` text DEFAULT '' NOT NULL,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL
);
--> statement-breakpoint
CREATE INDEX `exchange_rate_day` ON `exchange_rate` (`day`);--> statement-breakpoint
CREATE TABLE `invoice` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`day` text NOT NULL,
	`kind` text NOT NULL,
	`number` text NOT NULL,
	`amount_minor` integer NOT NULL,
	`currency` text NOT NULL,
	`fx_e6` integer,
	`note` text DEFAULT '' NOT NULL,
	`posted_at` integer NOT NULL,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `invoice_lot` ON `invoice` (`lot_id`);--> statement-breakpoint
CREATE TABLE `period_close` (
	`month` text PRIMARY KEY NOT NULL,
	`at` integer NOT NULL,
	`by` text NOT NULL,
	`note` text DEFAULT '' NOT NULL
);
--> statement-breakpoint
ALTER TABLE `movement` ADD `happened_at` integer;--> statement-breakpoint
ALTER TABLE `price_terms` ADD `shipped_g` integer;--> statement-breakpoint
ALTER TABLE `price_terms` ADD `franchise_ppm` integer;--> statement-breakpoint
ALTER TABLE `price_terms` ADD `posted_at` integer DEFAULT 0 NOT NULL;