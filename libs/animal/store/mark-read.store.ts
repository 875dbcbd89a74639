import { Injectable } from '@nestjs/common';
import { Database } from '../../platform/prisma/index.js';
import { openConflicts } from './mark-conflict.store.js';
import { findSessions, type StoredSession } from './photo.store.js';

/** Reads what belongs to marks, for viewers who read the animal's record. */
@Injectable()
export class MarkReadStore {
  constructor(private readonly database: Database) {}

  /** The conflicts of chips in force of each animal. For viewers at level `full`. */
  async findConflicts(animalIds: readonly string[]): ReturnType<typeof openConflicts> {
    return openConflicts(this.database.client, animalIds);
  }

  /** The photo sessions in force of each mark, by day. Callers cut them to what a past holder reads. */
  async findSessions(markIds: readonly string[]): Promise<Map<string, StoredSession[]>> {
    return findSessions(this.database.client, markIds);
  }
}
