export { createPrismaClient, type Db, Prisma, PrismaClient } from './client.js';
export { BUG_IF_HIT, CONSTRAINT_RULES } from './constraint-rules.js';
export { databaseRefusal, readDatabaseFault } from './database-error.js';
export { inserting, insertRows, insertTogether } from './insert-rows.js';
export { Database, PrismaModule } from './prisma.module.js';
export { sendAlone } from './tell-all.js';
export { type Tx, UnitOfWork, type WriteRequest } from './unit-of-work.js';
