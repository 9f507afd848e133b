CREATE TABLE `energy_reading` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`test_batch_id` integer,
	`production_id` integer,
	`gas_wh` integer,
	`power_wh` integer,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`production_id`) REFERENCES `production`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `energy_reading_test` ON `energy_reading` (`test_batch_id`);--> statement-breakpoint
CREATE INDEX `energy_reading_production` ON `energy_reading` (`production_id`);--> statement-breakpoint
CREATE TABLE `journal_account` (
	`side` text PRIMARY KEY NOT NULL,
	`code` text NOT NULL,
	`name` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE TABLE `test_budget` (
	`period` text PRIMARY KEY NOT NULL,
	`amount_minor` integer NOT NULL,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `power_kwh_per_batch` real DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `power_kwh_per_kg_green` real DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `power_price_e4_per_kwh` integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `machine_cost_minor` integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `machine_residual_minor` integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `machine_life_years` integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `machine_hours_per_year` integer DEFAULT 0 NOT NULL;--> statement-breakpoint
ALTER TABLE `cost_rate` ADD `version` integer DEFAULT 1 NOT NULL;--> statement-breakpoint
ALTER TABLE `roaster` ADD `shifts_version` integer DEFAULT 1 NOT NULL;