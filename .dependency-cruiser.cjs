/**
 * Import rules (docs/ARCHITECTURE.md). `npm run check` fails on the first file that breaks one;
 * tests/contract/import-rules.spec.ts shows for each rule a file that does.
 */

/** A folder of libs/ may import the folders of earlier rows, never its own row's others or a later row's. */
const layers = [
  ['kernel', 'genetics'],
  ['platform'],
  ['membership', 'taxon'],
  ['access'],
  ['animal'],
  ['lineage', 'document'],
  ['custody'], // registering an animal writes its parents in the same transaction
  ['housing'],
  ['breeding', 'health'],
  ['transfer', 'provenance'],
  ['matching', 'stock', 'exchange'],
];

const anyOf = (names) => `(${names.join('|')})`;
const contexts = layers.slice(2).flat();
const test = '\\.spec\\.ts$';

/** For each folder of libs/: what it may not import, which is every folder not in an earlier row. The first row has a rule of its own. */
const arrows = layers.flatMap((row, index) =>
  (index === 0 ? [] : row).map((name) => ({
    name: `arrow-${name}`,
    comment: `libs/${name} imports only what stands before it in the order of contexts.`,
    severity: 'error',
    from: { path: `^libs/${name}/` },
    to: { path: '^libs/', pathNot: `^libs/${anyOf([name, ...layers.slice(0, index).flat()])}/` },
  })),
);

module.exports = {
  forbidden: [
    ...arrows,
    {
      name: 'known-folder',
      comment: 'A new folder of libs/ gets its place in the order of contexts first.',
      severity: 'error',
      from: {},
      to: { path: '^libs/', pathNot: `^libs/${anyOf(layers.flat())}/` },
    },
    {
      name: 'foundations-import-nothing',
      comment: 'kernel and genetics import nothing: no package, no Node module, not each other.',
      severity: 'error',
      from: { path: '^libs/(kernel|genetics)/', pathNot: test },
      to: { pathNot: '^libs/$1/' },
    },
    {
      name: 'core-is-pure',
      comment:
        'A core file imports kernel, genetics and core files of its own context; I/O and frameworks stay outside.',
      severity: 'error',
      from: { path: '^libs/([^/]+)/.*\\.core\\.ts$' },
      to: { pathNot: ['^libs/(kernel|genetics)/', '^libs/$1/.*\\.core\\.ts$'] },
    },
    {
      name: 'contexts-meet-at-index',
      comment: "A context's index.ts is its only public face, also for apps and seed.",
      severity: 'error',
      from: { path: '^(libs/([^/]+)|apps|prisma)/', pathNot: test },
      to: {
        path: `^libs/${anyOf(['kernel', 'genetics', ...contexts])}/`,
        pathNot: ['^libs/$2/', '^libs/[^/]+/index\\.ts$'],
      },
    },
    {
      name: 'platform-parts-meet-at-index',
      comment: 'Seen from outside, a part of platform is a folder with an index.ts, or one file beside them.',
      severity: 'error',
      from: { path: '^(libs|apps|prisma)/', pathNot: `^libs/platform/|${test}` },
      to: { path: '^libs/platform/[^/]+/', pathNot: '^libs/platform/[^/]+/index\\.ts$' },
    },
    {
      name: 'prisma-only-in-stores',
      comment: 'Rows never leave the stores: the generated client and its packages are imported nowhere else.',
      severity: 'error',
      from: {
        path: '^(apps|libs|prisma|tests)/',
        pathNot: '\\.store\\.ts$|^libs/platform/prisma/|^prisma/(seed|generated)/|^tests/support/',
      },
      to: { path: '^prisma/generated/|node_modules/@prisma/' },
    },
    {
      name: 'system-stores-only-in-jobs',
      comment: 'system-*.store.ts reads without a viewer: only jobs, the worker and the seed may, never a request.',
      severity: 'error',
      from: { path: '^(apps|libs)/', pathNot: `^libs/[^/]+/jobs/|^apps/worker/|\\.job\\.ts$|${test}` },
      to: { path: '/system-[^/]+\\.store\\.ts$' },
    },
    {
      name: 'bullmq-only-in-queue',
      comment: 'The queue can be replaced in one place.',
      severity: 'error',
      from: { path: '^(apps|libs|prisma)/', pathNot: '^libs/platform/queue/|^apps/worker/' },
      to: { path: 'node_modules/(bullmq|@nestjs/bullmq)/' },
    },
    {
      name: 'libs-below-apps',
      comment: 'Libraries know no application and no tests; the seed may start the application to load through it.',
      severity: 'error',
      from: { path: '^libs/' },
      to: { path: '^(apps|tests)/' },
    },
    {
      name: 'apps-without-tests',
      comment: 'Nothing that runs knows the tests.',
      severity: 'error',
      from: { path: '^(apps|prisma)/' },
      to: { path: '^tests/' },
    },
    {
      name: 'no-cycle',
      comment: 'No import leads back to its start.',
      severity: 'error',
      from: {},
      to: { circular: true },
    },
    {
      name: 'resolvable',
      comment: 'Every import exists.',
      severity: 'error',
      from: {},
      to: { couldNotResolve: true },
    },
  ],
  options: {
    doNotFollow: { path: ['node_modules', '^prisma/generated/'] },
    exclude: { path: '^dist/' },
    tsPreCompilationDeps: true, // an import of a type is an import
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      conditionNames: ['import', 'require', 'node', 'default', 'types'],
    },
  },
};
