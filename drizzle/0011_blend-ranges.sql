ALTER TABLE `blend_part` ADD `least_permille` integer;--> statement-breakpoint
ALTER TABLE `blend_part` ADD `most_permille` integer;--> statement-breakpoint
ALTER TABLE `blend_part` ADD `substitute_lot_ids` text DEFAULT '[]' NOT NULL;--> statement-breakpoint
ALTER TABLE `site` ADD `supplier_lead_days` integer DEFAULT 60 NOT NULL;