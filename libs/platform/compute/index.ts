export { Compute, ComputeModule } from './compute.js';
export { defineWork, type Work } from './work.js';
