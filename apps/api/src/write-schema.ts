import { writeFileSync } from 'node:fs';
import { printCurrentSchema } from './print-schema.js';

// Run from the repository's root by `npm run schema`.
writeFileSync('apps/api/schema.graphql', await printCurrentSchema());
