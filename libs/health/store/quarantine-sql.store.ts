import { Prisma } from '../../platform/prisma/index.js';

/**
 * SQL pieces over `quarantine_group g JOIN quarantine_entry e`, with `taxon t` of the entry's animal; the same rules as
 * quarantine.core.ts, held together by tests/jobs/quarantine-end.spec.ts.
 */

/**
 * When an entry ended. A stay ends with the keeper's custody, whoever ended that (a death is recorded in custody, which
 * knows nothing of quarantine), so that no entry outlives its animal for a moment.
 */
export const LEFT_ON = Prisma.sql`coalesce(e.left_on, (
  SELECT greatest(max(c.valid_to), e.entered_on) FROM custody c
  WHERE c.animal_id = e.animal_id AND c.keeper_id = g.keeper_id AND c.superseded_at IS NULL
  HAVING bool_and(c.valid_to IS NOT NULL)))`;

/** Animals of one group with the same key share a clock. */
export const CLOCK_KEY = Prisma.sql`CASE g.restart_scope WHEN 'order' THEN t.order_name WHEN 'class' THEN t.class_name ELSE '' END`;

/** Groups, their entries, and the taxon of each entry's animal. */
export const GROUPS = Prisma.sql`quarantine_group g JOIN quarantine_entry e ON e.group_id = g.id
  JOIN animal a ON a.id = e.animal_id JOIN taxon t ON t.id = a.taxon_id`;
