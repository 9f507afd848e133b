CREATE TABLE `supplier_lead` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`supplier` text NOT NULL,
	`lead_days` integer NOT NULL,
	`version` integer DEFAULT 1 NOT NULL
);
--> statement-breakpoint
CREATE UNIQUE INDEX `supplier_lead_supplier_unique` ON `supplier_lead` (`supplier`);