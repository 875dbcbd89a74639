import fc from 'fast-check';

// The same examples in every run, so that a red run is a change of ours; FAST_CHECK_SEED=n looks at others.
fc.configureGlobal({ ...fc.readConfigureGlobal(), seed: Number(process.env.FAST_CHECK_SEED ?? 20_261_125) });
