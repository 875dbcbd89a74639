import 'reflect-metadata';
import { readConfig } from '../../../libs/platform/config/index.js';
import { benchExpiry } from './expiry.js';
import { benchGenetics } from './genetics.js';
import { benchList } from './list.js';
import { benchMates } from './mates.js';
import { benchSnapshot } from './snapshot.js';
import { benchTransfer } from './transfer.js';

/** Runs one part; `npm run bench` starts a process for each, with a database of its own where the part needs one. */
async function main([part, ...options]: readonly string[]): Promise<void> {
  if (part === 'genetics') return benchGenetics({ large: options.includes('--large') });
  const config = readConfig(process.env);
  switch (part) {
    case 'snapshot':
      return benchSnapshot(config, { large: options.includes('--large') });
    case 'transfer':
      return benchTransfer(config);
    case 'list':
      return benchList(config);
    case 'mates':
      return benchMates(config);
    case 'expiry':
      return benchExpiry(config);
    default:
      throw new RangeError(`There is no part "${part}".`);
  }
}

await main(process.argv.slice(2));
