CREATE TABLE `day_hours` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`kind` text NOT NULL,
	`roaster_id` integer,
	`day` text NOT NULL,
	`start_min` integer NOT NULL,
	`end_min` integer NOT NULL,
	`reason` text DEFAULT '' NOT NULL,
	FOREIGN KEY (`roaster_id`) REFERENCES `roaster`(`id`) ON UPDATE no action ON DELETE no action
);
