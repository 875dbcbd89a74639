/** What comes in from files and goes out to people: loading a pedigree, and the export of a keeper's own records. */
export { ExportOwn } from './app/export-own.js';
export { type PedigreeAnimal, type SetAside } from './app/plan-pedigree.js';
export { type RegisteredPedigree, RegisterPedigree, type RegisterPedigreeCommand } from './app/register-pedigree.js';
export { ExchangeJobsModule } from './forget/exchange-jobs.module.js';
export { removeFiles } from './forget/remove-files.job.js';
export { RemoveFilesHandler } from './forget/remove-files.handler.js';
export { ExchangeModule } from './exchange.module.js';
export { exportDocument, type ExportDocument } from './document/export-document.schema.js';
export { PACK_FORM, type RecordPack, recordPackJsonSchema } from './pack/record-pack.schema.js';
