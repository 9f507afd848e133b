CREATE TABLE `test_posting` (
	`test_batch_id` integer NOT NULL,
	`month` text NOT NULL,
	`amounts` text NOT NULL,
	PRIMARY KEY(`test_batch_id`, `month`),
	FOREIGN KEY (`test_batch_id`) REFERENCES `test_batch`(`id`) ON UPDATE no action ON DELETE no action
);
