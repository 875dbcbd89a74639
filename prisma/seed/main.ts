import 'reflect-metadata';
import { readConfig } from '../../libs/platform/config/index.js';
import { createPrismaClient } from '../../libs/platform/prisma/index.js';
import { DEMO_LOADED } from './demo-loaded.js';

/** Loads the demo once. A start that finds it complete asks one question and is done, without building the application. */
const config = readConfig(process.env);
const client = createPrismaClient(config.databaseUrl, 1);
const loaded = await client.ledgerEntry.count({ where: { action: DEMO_LOADED } });
await client.$disconnect();
if (loaded === 0) {
  const { loadDemo } = await import('./load-demo.js');
  await loadDemo(config);
}
