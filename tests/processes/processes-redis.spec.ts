import { describe } from '@jest/globals';
import { processesSuite } from './processes-suite.js';

const url = process.env['TEST_REDIS_URL'];

if (url) describe('several processes with the queue on Redis', () => processesSuite(url));
else
  describe.skip('several processes with the queue on Redis: TEST_REDIS_URL not given', () => processesSuite(undefined));
