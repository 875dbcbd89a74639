import { Injectable } from '@nestjs/common';
import { fromDateColumnOrNull, toDateColumn } from '../../access/index.js';
import { Database, type Tx } from '../../platform/prisma/index.js';
import { type Availability } from '../core/availability.core.js';

/** Reads and writes what holders say of their animals as mates. It hangs on the holder's access, and ends with it. */
@Injectable()
export class AvailabilityStore {
  constructor(private readonly database: Database) {}

  /** What the present holder of each animal says; the caller shows it as far as the viewer's level allows. */
  async findCurrent(animalIds: readonly string[]): Promise<Map<string, Availability>> {
    const rows = await this.database.client.breedingAvailability.findMany({
      where: { animalId: { in: [...animalIds] }, access: { validTo: null } },
    });
    return new Map(
      rows.map(({ animalId, open, untilOn, offers }) => [
        animalId,
        { open, until: fromDateColumnOrNull(untilOn), offers },
      ]),
    );
  }

  /** Replaces what the holder says; null takes it back. The animal is locked and the keeper has it. */
  async set(tx: Tx, stay: { animalId: string; keeperId: string }, said: Availability | null): Promise<void> {
    const access = await tx.db.animalAccess.findFirstOrThrow({
      where: { ...stay, relation: 'holder', validTo: null },
      select: { id: true },
    });
    if (said === null) {
      await tx.db.breedingAvailability.deleteMany({ where: { accessId: access.id } });
      return;
    }
    const row = {
      open: said.open,
      untilOn: said.until === null ? null : toDateColumn(said.until),
      offers: [...said.offers],
      setAt: tx.now,
    };
    await tx.db.breedingAvailability.upsert({
      where: { accessId: access.id },
      create: { accessId: access.id, ...stay, ...row },
      update: row,
    });
  }
}
