import { type PrismaClient } from '../../libs/platform/prisma/index.js';

/** Lets an animal out of any quarantine, for tests of something else: sending it on is refused while it is in one. */
export async function endQuarantine(client: PrismaClient, animalId: string, on: string): Promise<void> {
  await client.quarantineEntry.updateMany({ where: { animalId, leftOn: null }, data: { leftOn: new Date(on) } });
}
