import { writeFileSync } from 'node:fs';
import { recordPackJsonSchema } from '../../../libs/exchange/index.js';
import { printCurrentSchema } from './print-schema.js';

// Run from the repository's root by `npm run schema`.
writeFileSync('apps/api/schema.graphql', await printCurrentSchema());
writeFileSync('docs/schemas/record-pack-1.json', `${JSON.stringify(recordPackJsonSchema(), null, 2)}\n`);
