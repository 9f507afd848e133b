CREATE TABLE `cupping_session` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`name` text NOT NULL,
	`form` text NOT NULL,
	`seed` integer NOT NULL,
	`opened_at` integer NOT NULL,
	`opened_by` text NOT NULL,
	`closed_at` integer,
	`closed_by` text,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE TABLE `session_cup` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`session_id` integer NOT NULL,
	`place` integer NOT NULL,
	`code` text NOT NULL,
	`test_batch_id` integer,
	`sample_id` integer,
	`reference` text,
	FOREIGN KEY (`session_id`) REFERENCES `cupping_session`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`sample_id`) REFERENCES `sample_roast`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `session_cup_code` ON `session_cup` (`session_id`,`code`);--> statement-breakpoint
CREATE UNIQUE INDEX `session_cup_place` ON `session_cup` (`session_id`,`place`);--> statement-breakpoint
CREATE TABLE `session_key_seen` (
	`session_id` integer NOT NULL,
	`by` text NOT NULL,
	`at` integer NOT NULL,
	PRIMARY KEY(`session_id`, `by`),
	FOREIGN KEY (`session_id`) REFERENCES `cupping_session`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `session_sheet` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`cup_id` integer NOT NULL,
	`by` text NOT NULL,
	`fields` text NOT NULL,
	`saved_at` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL,
	FOREIGN KEY (`cup_id`) REFERENCES `session_cup`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `session_sheet_by` ON `session_sheet` (`cup_id`,`by`);--> statement-breakpoint
PRAGMA foreign_keys=OFF;--> statement-breakpoint
CREATE TABLE `__new_cupping` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`test_batch_id` integer,
	`sample_id` integer,
	`session_cup_id` integer,
	`cupped_at` integer NOT NULL,
	`sheet` text NOT NULL,
	`descriptors` text NOT NULL,
	`note` text DEFAULT '' NOT NULL,
	`by` text NOT NULL,
	`recorded_at` integer NOT NULL,
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`sample_id`) REFERENCES `sample_roast`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`session_cup_id`) REFERENCES `session_cup`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
INSERT INTO `__new_cupping`("id", "test_batch_id", "cupped_at", "sheet", "descriptors", "note", "by", "recorded_at") SELECT "id", "test_batch_id", "cupped_at", "sheet", "descriptors", "note", "by", "recorded_at" FROM `cupping`;--> statement-breakpoint
DROP TABLE `cupping`;--> statement-breakpoint
ALTER TABLE `__new_cupping` RENAME TO `cupping`;--> statement-breakpoint
PRAGMA foreign_keys=ON;--> statement-breakpoint
CREATE INDEX `cupping_test` ON `cupping` (`test_batch_id`);--> statement-breakpoint
CREATE INDEX `cupping_sample` ON `cupping` (`sample_id`);--> statement-breakpoint
CREATE INDEX `cupping_session_cup` ON `cupping` (`session_cup_id`);--> statement-breakpoint
ALTER TABLE `product` ADD `verdict_rule` text;--> statement-breakpoint
ALTER TABLE `product` ADD `verdict_rule_set_at` integer;--> statement-breakpoint
ALTER TABLE `verdict` ADD `rule_said` text;--> statement-breakpoint
ALTER TABLE `verdict` ADD `against_reason` text;