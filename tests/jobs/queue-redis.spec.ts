import { describe } from '@jest/globals';
import { queueSuite } from './queue-suite.js';

const url = process.env['TEST_REDIS_URL'];

if (url) describe('jobs over Redis', () => queueSuite(url));
else describe.skip('jobs over Redis: TEST_REDIS_URL not given', () => queueSuite(undefined));
