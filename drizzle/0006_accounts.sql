CREATE TABLE `api_token` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`hash` text NOT NULL,
	`user_id` integer NOT NULL,
	`name` text NOT NULL,
	`scope` text NOT NULL,
	`created_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`seen_at` integer,
	`ended_at` integer,
	FOREIGN KEY (`user_id`) REFERENCES `user`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `api_token_hash_unique` ON `api_token` (`hash`);--> statement-breakpoint
CREATE INDEX `api_token_user` ON `api_token` (`user_id`);--> statement-breakpoint
CREATE TABLE `failed_sign_in` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`at` integer NOT NULL,
	`login` text NOT NULL,
	`address` text NOT NULL
);
--> statement-breakpoint
CREATE INDEX `failed_sign_in_login` ON `failed_sign_in` (`login`,`at`);--> statement-breakpoint
CREATE INDEX `failed_sign_in_address` ON `failed_sign_in` (`address`,`at`);--> statement-breakpoint
CREATE TABLE `invitation` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`hash` text NOT NULL,
	`role` text NOT NULL,
	`name` text NOT NULL,
	`user_id` integer,
	`by` text NOT NULL,
	`created_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`used_at` integer,
	`withdrawn_at` integer,
	FOREIGN KEY (`user_id`) REFERENCES `user`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `invitation_hash_unique` ON `invitation` (`hash`);--> statement-breakpoint
CREATE TABLE `recovery_code` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`user_id` integer NOT NULL,
	`hash` text NOT NULL,
	`used_at` integer,
	FOREIGN KEY (`user_id`) REFERENCES `user`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `recovery_code_user` ON `recovery_code` (`user_id`);--> statement-breakpoint
CREATE TABLE `session` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`hash` text NOT NULL,
	`user_id` integer NOT NULL,
	`created_at` integer NOT NULL,
	`seen_at` integer NOT NULL,
	`ended_at` integer,
	`browser` text NOT NULL,
	FOREIGN KEY (`user_id`) REFERENCES `user`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `session_hash_unique` ON `session` (`hash`);--> statement-breakpoint
CREATE INDEX `session_user` ON `session` (`user_id`);--> statement-breakpoint
CREATE TABLE `user` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`login` text NOT NULL,
	`name` text NOT NULL,
	`role` text NOT NULL,
	`password` text NOT NULL,
	`totp_secret` text,
	`totp_pending` text,
	`totp_step` integer,
	`created_at` integer NOT NULL,
	`ended_at` integer
);
--> statement-breakpoint
CREATE UNIQUE INDEX `user_login_unique` ON `user` (`login`);--> statement-breakpoint
ALTER TABLE `audit` ADD `user_id` integer;--> statement-breakpoint
ALTER TABLE `audit` ADD `actor` text DEFAULT '' NOT NULL;--> statement-breakpoint
CREATE INDEX `audit_at` ON `audit` (`at`);--> statement-breakpoint
CREATE TRIGGER `audit_is_not_changed` BEFORE UPDATE ON `audit` BEGIN SELECT RAISE(ABORT, 'The audit is never edited.'); END;
--> statement-breakpoint
CREATE TRIGGER `audit_is_not_removed` BEFORE DELETE ON `audit` BEGIN SELECT RAISE(ABORT, 'The audit is never edited.'); END;
