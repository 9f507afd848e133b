CREATE TABLE `closure` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`roaster_id` integer,
	`from_day` text NOT NULL,
	`to_day` text NOT NULL,
	`reason` text NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `flavoured_product` (
	`product_id` integer PRIMARY KEY NOT NULL,
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `plan_hours` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`kind` text NOT NULL,
	`roaster_id` integer,
	`weekday` integer NOT NULL,
	`start_min` integer NOT NULL,
	`end_min` integer NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `plan_search` (
	`week` text PRIMARY KEY NOT NULL,
	`started_at` integer NOT NULL,
	`by` text NOT NULL,
	`seed` integer NOT NULL,
	`budget` integer NOT NULL,
	`steps` integer DEFAULT 0 NOT NULL,
	`problem` text NOT NULL,
	`weights` text NOT NULL,
	`start_cost` real NOT NULL,
	`plan` text NOT NULL,
	`cost` text NOT NULL,
	`course` text NOT NULL,
	`bound` text,
	`stop_asked` integer DEFAULT false NOT NULL,
	`seen_at` integer NOT NULL,
	`finished_at` integer,
	`failure` text
);
--> statement-breakpoint
CREATE TABLE `plan_settings` (
	`id` integer PRIMARY KEY NOT NULL,
	`weights` text NOT NULL,
	`separations` text NOT NULL,
	`overtime_min` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE TABLE `roaster_bar` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`roaster_id` integer NOT NULL,
	`product_id` integer,
	`lot_kind` text,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`product_id`) REFERENCES `product`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
ALTER TABLE `week_plan` ADD `cost` text;