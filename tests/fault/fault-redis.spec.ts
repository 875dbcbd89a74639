import { describe } from '@jest/globals';
import { faultSuite } from './fault-suite.js';

const url = process.env['TEST_REDIS_URL'];

if (url) describe('faults with the queue on Redis', () => faultSuite('Redis', url));
else describe.skip('faults with the queue on Redis: TEST_REDIS_URL not given', () => faultSuite('Redis', undefined));
