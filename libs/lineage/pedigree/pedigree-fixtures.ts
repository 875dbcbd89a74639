import { createHash } from 'node:crypto';
import { type ParentRole } from '../claims/parentage.core.js';
import { type PedigreeClaim, type PedigreeRecord } from './pedigree-builder.core.js';

/** The UUID that tests use for a name: the same every time. */
export function id(name: string): string {
  const hex = createHash('sha256').update(name).digest('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-7${hex.slice(13, 16)}-8${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/** A record of the animal that a test calls by a name. */
export function record(name: string, more: Partial<PedigreeRecord> = {}): PedigreeRecord {
  return { id: id(name), alive: false, declaredFounder: false, mergedIntoId: null, ...more };
}

/** One candidate of a claim, by the names of child and parent. */
export function claim(child: string, role: ParentRole, parent: string, probability = 1): PedigreeClaim {
  return { childId: id(child), role, withoutSire: false, parentId: id(parent), probability };
}
