CREATE TABLE `audit` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`at` integer NOT NULL,
	`by` text NOT NULL,
	`act` text NOT NULL,
	`lot_id` integer,
	`detail` text NOT NULL
);
--> statement-breakpoint
CREATE INDEX `audit_lot` ON `audit` (`lot_id`);--> statement-breakpoint
CREATE TABLE `blend_part` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`product_id` integer NOT NULL,
	`from_day` text NOT NULL,
	`lot_id` integer NOT NULL,
	`share_permille` integer NOT NULL,
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `blend_part_lot` ON `blend_part` (`product_id`,`from_day`,`lot_id`);--> statement-breakpoint
CREATE TABLE `cost_rate` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`roaster_id` integer NOT NULL,
	`from_day` text NOT NULL,
	`currency` text NOT NULL,
	`energy_kwh_per_batch` real NOT NULL,
	`energy_kwh_per_kg_green` real NOT NULL,
	`energy_price_e4_per_kwh` integer NOT NULL,
	`labour_minor_per_hour` integer NOT NULL,
	`machine_minor_per_hour` integer NOT NULL,
	`quality_minor_per_hour` integer NOT NULL,
	`labour_min_per_batch` integer NOT NULL,
	`quality_min_per_test` integer NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `cost_rate_from` ON `cost_rate` (`roaster_id`,`from_day`);--> statement-breakpoint
CREATE TABLE `cupping` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`test_batch_id` integer NOT NULL,
	`cupped_at` integer NOT NULL,
	`sheet` text NOT NULL,
	`descriptors` text NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `cupping_test` ON `cupping` (`test_batch_id`);--> statement-breakpoint
CREATE TABLE `demand` (
	`product_id` integer NOT NULL,
	`week` text NOT NULL,
	`roasted_g` integer NOT NULL,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL,
	PRIMARY KEY(`product_id`, `week`),
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `intake` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`opened_at` integer NOT NULL,
	`by` text NOT NULL,
	`committed_at` integer
);
--> statement-breakpoint
CREATE TABLE `intake_file` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`intake_id` integer NOT NULL,
	`file_name` text NOT NULL,
	`sha256` text NOT NULL,
	`bytes` blob NOT NULL,
	`mapping` text,
	`about` text,
	`problems` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`intake_id`) REFERENCES `intake`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `intake_file_intake` ON `intake_file` (`intake_id`);--> statement-breakpoint
CREATE TABLE `lot` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`code` text NOT NULL,
	`name` text NOT NULL,
	`kind` text NOT NULL,
	`country` text NOT NULL,
	`producer` text NOT NULL,
	`supplier` text NOT NULL,
	`variety` text NOT NULL,
	`crop_year` text NOT NULL,
	`bag_g` integer NOT NULL,
	`bags_expected` integer NOT NULL,
	`expected_on` text,
	`organic` integer NOT NULL,
	`decaf` integer NOT NULL,
	`replaces_lot_id` integer,
	`for_product_id` integer,
	`needed_on` text,
	`note` text DEFAULT '' NOT NULL,
	`created_at` integer NOT NULL,
	`created_by` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`for_product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `lot_code_unique` ON `lot` (`code`);--> statement-breakpoint
CREATE INDEX `lot_replaces` ON `lot` (`replaces_lot_id`);--> statement-breakpoint
CREATE TABLE `lot_turn` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`turn` text NOT NULL,
	`at` integer NOT NULL,
	`reason` text NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `lot_turn_lot` ON `lot_turn` (`lot_id`);--> statement-breakpoint
CREATE TABLE `mapping_memory` (
	`shape` text PRIMARY KEY NOT NULL,
	`mapping` text NOT NULL,
	`used_at` integer NOT NULL,
	`by` text NOT NULL
);
--> statement-breakpoint
CREATE TABLE `measurement` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`stage` text NOT NULL,
	`at` integer NOT NULL,
	`moisture_pct` real,
	`water_activity` real,
	`density_g_l` real,
	`screen_16_up_pct` real,
	`defects_per_300g` integer,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `measurement_lot` ON `measurement` (`lot_id`);--> statement-breakpoint
CREATE TABLE `movement` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`at` integer NOT NULL,
	`kind` text NOT NULL,
	`mass_g` integer NOT NULL,
	`reason` text NOT NULL,
	`sample_id` integer,
	`test_batch_id` integer,
	`production_id` integer,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `movement_lot` ON `movement` (`lot_id`,`at`);--> statement-breakpoint
CREATE TABLE `price_terms` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`agreed_on` text NOT NULL,
	`basis` text NOT NULL,
	`price_e4` integer NOT NULL,
	`differential_e4` integer NOT NULL,
	`per` text NOT NULL,
	`currency` text NOT NULL,
	`fx_e6` integer NOT NULL,
	`fx_on` text NOT NULL,
	`incoterm` text NOT NULL,
	`freight_minor` integer NOT NULL,
	`insurance_ppm` integer NOT NULL,
	`duty_ppm` integer NOT NULL,
	`port_minor` integer NOT NULL,
	`warehouse_minor` integer NOT NULL,
	`finance_days` integer NOT NULL,
	`finance_rate_ppm` integer NOT NULL,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `price_terms_lot` ON `price_terms` (`lot_id`);--> statement-breakpoint
CREATE TABLE `product` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`code` text NOT NULL,
	`name` text NOT NULL,
	`shade` text NOT NULL,
	`price_minor_per_kg` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `product_code_unique` ON `product` (`code`);--> statement-breakpoint
CREATE TABLE `production` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`product_id` integer NOT NULL,
	`roaster_id` integer NOT NULL,
	`roasted_at` integer NOT NULL,
	`charge_g` integer NOT NULL,
	`out_g` integer NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `production_lot` ON `production` (`lot_id`);--> statement-breakpoint
CREATE INDEX `production_at` ON `production` (`roasted_at`);--> statement-breakpoint
CREATE TABLE `reading` (
	`sample_id` integer PRIMARY KEY NOT NULL,
	`method` text NOT NULL,
	`result` text,
	`problems` text NOT NULL,
	`made_at` integer NOT NULL,
	FOREIGN KEY (`sample_id`) REFERENCES `sample_roast`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `recipe` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`recipe_version` integer NOT NULL,
	`test_batch_id` integer NOT NULL,
	`roaster_id` integer NOT NULL,
	`charge_g` integer NOT NULL,
	`settings` text NOT NULL,
	`weight_loss_ppm` integer NOT NULL,
	`approved_at` integer NOT NULL,
	`by` text NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `recipe_version` ON `recipe` (`lot_id`,`recipe_version`);--> statement-breakpoint
CREATE TABLE `recovery` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`test_batch_id` integer NOT NULL,
	`at` integer NOT NULL,
	`kind` text NOT NULL,
	`mass_g` integer NOT NULL,
	`value_minor` integer NOT NULL,
	`product_id` integer,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `recovery_test` ON `recovery` (`test_batch_id`);--> statement-breakpoint
CREATE TABLE `release` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`recipe_id` integer NOT NULL,
	`at` integer NOT NULL,
	`roasting_by` text NOT NULL,
	`quality_by` text NOT NULL,
	`descriptors` text NOT NULL,
	`price_minor_per_kg` integer NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`recipe_id`) REFERENCES `recipe`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `release_lot` ON `release` (`lot_id`);--> statement-breakpoint
CREATE TABLE `roast_log` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`kind` text NOT NULL,
	`file_name` text NOT NULL,
	`sha256` text NOT NULL,
	`bytes` blob NOT NULL,
	`mapping` text NOT NULL,
	`marks` text NOT NULL,
	`rows` integer NOT NULL,
	`notes` text NOT NULL,
	`recorded_at` integer NOT NULL,
	`by` text NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `roast_log_sha256_unique` ON `roast_log` (`sha256`);--> statement-breakpoint
CREATE TABLE `roast_log_column` (
	`log_id` integer NOT NULL,
	`channel` text NOT NULL,
	`values` blob NOT NULL,
	PRIMARY KEY(`log_id`, `channel`),
	FOREIGN KEY (`log_id`) REFERENCES `roast_log`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `roaster` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`code` text NOT NULL,
	`name` text NOT NULL,
	`min_charge_g` integer NOT NULL,
	`max_charge_g` integer NOT NULL,
	`warm_up_min` integer NOT NULL,
	`cycle_min` integer NOT NULL,
	`roast_min` integer NOT NULL,
	`cleaning_min` integer NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `roaster_code_unique` ON `roaster` (`code`);--> statement-breakpoint
CREATE TABLE `sample_roast` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`stage` text NOT NULL,
	`roasted_at` integer NOT NULL,
	`charge_g` real,
	`out_g` real,
	`air_flow_g_s` real,
	`sensor_lag_s` real,
	`ear_crack_s` real,
	`log_id` integer NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`log_id`) REFERENCES `roast_log`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `sample_roast_log_id_unique` ON `sample_roast` (`log_id`);--> statement-breakpoint
CREATE INDEX `sample_roast_lot` ON `sample_roast` (`lot_id`);--> statement-breakpoint
CREATE TABLE `shift` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`roaster_id` integer NOT NULL,
	`weekday` integer NOT NULL,
	`start_min` integer NOT NULL,
	`end_min` integer NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `shift_roaster` ON `shift` (`roaster_id`);--> statement-breakpoint
CREATE TABLE `site` (
	`id` integer PRIMARY KEY NOT NULL,
	`name` text NOT NULL,
	`time_zone` text NOT NULL,
	`currency` text NOT NULL,
	`altitude_m` integer NOT NULL,
	`release_lead_days` integer NOT NULL,
	`cupping_lag_hours` integer NOT NULL,
	`test_cycle_days` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE TABLE `slot` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`week` text NOT NULL,
	`roaster_id` integer NOT NULL,
	`start_at` integer NOT NULL,
	`end_at` integer NOT NULL,
	`kind` text NOT NULL,
	`lot_id` integer NOT NULL,
	`product_id` integer,
	`test_batch_id` integer,
	`charge_g` integer NOT NULL,
	`due_at` integer NOT NULL,
	`why` text NOT NULL,
	`locked` integer DEFAULT false NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `slot_week` ON `slot` (`week`);--> statement-breakpoint
CREATE TABLE `test_batch` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`lot_id` integer NOT NULL,
	`number` integer NOT NULL,
	`planned_at` integer NOT NULL,
	`planned_by` text NOT NULL,
	`purpose` text NOT NULL,
	`change` text NOT NULL,
	`roaster_id` integer NOT NULL,
	`settings` text NOT NULL,
	`withdrawn_at` integer,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`lot_id`) REFERENCES `lot`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `test_batch_number` ON `test_batch` (`lot_id`,`number`);--> statement-breakpoint
CREATE TABLE `test_roast` (
	`test_batch_id` integer PRIMARY KEY NOT NULL,
	`roasted_at` integer NOT NULL,
	`charge_g` integer NOT NULL,
	`out_g` integer NOT NULL,
	`log_id` integer,
	`note` text DEFAULT '' NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`log_id`) REFERENCES `roast_log`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `test_roast_log_id_unique` ON `test_roast` (`log_id`);--> statement-breakpoint
CREATE TABLE `verdict` (
	`test_batch_id` integer PRIMARY KEY NOT NULL,
	`at` integer NOT NULL,
	`verdict` text NOT NULL,
	`reason` text NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `week_plan` (
	`week` text PRIMARY KEY NOT NULL,
	`planned_at` integer NOT NULL,
	`by` text NOT NULL,
	`unplaced` text NOT NULL,
	`usage` text NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
