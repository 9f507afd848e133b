CREATE TABLE `fingerprint` (
	`sample_id` integer PRIMARY KEY NOT NULL,
	`method` text NOT NULL,
	`reading_method` text NOT NULL,
	`axis` text,
	`curve` blob,
	`known_from_c` real,
	`known_to_c` real,
	`features` text,
	`problems` text NOT NULL,
	`made_at` integer NOT NULL,
	FOREIGN KEY (`sample_id`) REFERENCES `sample_roast`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `reading_change` (
	`rereading_id` integer NOT NULL,
	`sample_id` integer NOT NULL,
	`from_method` text NOT NULL,
	`before` text,
	`after` text,
	`failure` text,
	`at` integer NOT NULL,
	PRIMARY KEY(`rereading_id`, `sample_id`),
	FOREIGN KEY (`rereading_id`) REFERENCES `rereading`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`sample_id`) REFERENCES `sample_roast`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `rereading` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`method` text NOT NULL,
	`fingerprint_method` text NOT NULL,
	`started_at` integer NOT NULL,
	`by` text NOT NULL,
	`total` integer NOT NULL,
	`done` integer DEFAULT 0 NOT NULL,
	`changed` integer DEFAULT 0 NOT NULL,
	`failed` integer DEFAULT 0 NOT NULL,
	`spent_ms` integer DEFAULT 0 NOT NULL,
	`seen_at` integer NOT NULL,
	`finished_at` integer
);
