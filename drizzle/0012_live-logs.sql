CREATE TABLE `live_log` (
	`id` text PRIMARY KEY NOT NULL,
	`file_name` text NOT NULL,
	`user_id` integer,
	`started_at` integer NOT NULL,
	`by` text NOT NULL,
	`finished_at` integer,
	`sha256` text,
	`intake_id` integer,
	FOREIGN KEY (`user_id`) REFERENCES `user`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`intake_id`) REFERENCES `intake`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `live_log_chunk` (
	`live_log_id` text NOT NULL,
	`number` integer NOT NULL,
	`sha256` text NOT NULL,
	`bytes` blob NOT NULL,
	PRIMARY KEY(`live_log_id`, `number`),
	FOREIGN KEY (`live_log_id`) REFERENCES `live_log`(`id`) ON UPDATE no action ON DELETE no action
);
