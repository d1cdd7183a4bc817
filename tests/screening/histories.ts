/**
 * Invented histories of people at home, written before the rules: what an honest person answers to the questions, and
 * what a careful therapist then decides. `held` is what must not go through without more; `allowed` names what may be
 * held or not, because therapists differ. Everything that neither names must stay free to do, or "done this way".
 */
export type Decision = 'stop' | 'leave-out' | 'clearance' | 'change';
type Targets = 'everything' | readonly string[];
export type History = {
  name: string;
  told: string;
  /** Ids of the questions answered with yes; all others are answered with no. */
  yes: readonly string[];
  /** Answered with "not sure". */
  unsure?: readonly string[];
  held: readonly (readonly [Decision, Targets])[];
  allowed?: Targets;
  source: string;
};

// Lists made by hand from what the exercises look like, not from their load tags.
export const bending = ['knee-to-chest', 'knee-rolls', 'hamstring-stretch'];
export const neck = ['deep-neck-nod', 'head-press'];
export const overhead = ['arm-slides', 'arm-reach', 'stick-raise', 'elbow-opening'];
export const pushing = [
  'into-bed',
  'log-roll',
  'out-of-bed',
  'sit-before-standing',
  'lying-down-and-getting-up',
  'bridge',
  'upper-arm-press',
];
export const gettingUp = [
  'into-bed',
  'log-roll',
  'out-of-bed',
  'sit-before-standing',
  'lying-down-and-getting-up',
];
export const straining = ['bridge', 'abdominal-bracing', 'straight-leg-raise'];
export const holds = [
  'thigh-tightening',
  'buttock-tightening',
  'head-press',
  'upper-arm-press',
  'abdominal-bracing',
  'heel-press',
];
export const hipTurning = ['bent-knee-fall-out', 'knee-rolls', 'knee-squeeze', 'leg-slide-out'];
export const lying = [
  'body-awareness-rest',
  'quiet-breathing',
  'arm-slides',
  'head-press',
  'heel-slide',
  'ankle-pumps',
  'bridge',
  'thigh-tightening',
  'rest-arms-open',
  'lower-rib-breathing',
  'muscle-relaxation',
  'hand-pumps',
];
export const trunkAndShoulders = [
  'shoulder-blade-setting',
  'upper-arm-press',
  'rest-arms-open',
  'shoulder-rotation',
];

/** The exercises that the table was written for; of those that came later it says only what must be held. */
export const judged: ReadonlySet<string> = new Set(
  `
  abdominal-bracing ankle-pumps arm-reach arm-slides bent-knee-fall-out body-awareness-rest bridge
  buttock-tightening deep-neck-nod elbow-opening hamstring-stretch hand-pumps head-press heel-press
  heel-slide into-bed knee-rolls knee-squeeze knee-straightening knee-to-chest leg-slide-out log-roll
  lower-rib-breathing muscle-relaxation out-of-bed pelvic-floor quiet-breathing rest-arms-open
  shoulder-blade-setting shoulder-rotation sit-before-standing stick-raise straight-leg-raise thigh-press
  thigh-tightening upper-arm-press lying-down-and-getting-up
`
    .trim()
    .split(/\s+/),
);

const practice = 'Common practice, no published source.';
const memory = 'From memory.';
const finucane =
  'Finucane 2020, JOSPT 50:350 (IFOMPT framework of red flags of the spine), second publication.';
const nhsBack = 'Pages of regional NHS spine services on back pain.';
const davies = 'Davies 2018, BMJ 360:k186 (degenerative cervical myelopathy: hands, gait, prompt referral).';
const gibbons =
  'ACC/AHA 2002 guideline update for exercise testing (Gibbons), contraindications, second publication.';
const hillegass = 'Hillegass 2016, Phys Ther 96:143 (APTA guideline, venous thromboembolism), abstract.';
const leaflets = 'Hospital leaflets on cardiac and home exercise.';
const giangregorio =
  'Giangregorio 2014, Osteoporos Int 25:821, and Brooke-Wavell 2022, Br J Sports Med 56:837 (second publications).';
const sinaki =
  'Sinaki and Mikkelsen 1984 (PubMed 6487063); Giangregorio 2014, Osteoporos Int 25:821 (second publication).';

// biome-ignore format: a table is read with one history a line
export const histories: readonly History[] = [
  // Spinal cord and cauda equina
  { name: 'buttons', told: 'For two months she drops coins and cannot do her buttons; the neck does not hurt.', yes: ['cord-hands'], held: [['stop', 'everything']], source: davies },
  { name: 'legs of wood', told: 'Since six weeks his walk is stiff and unsteady, which it was not before.', yes: ['cord-walking', 'unsteady'], held: [['stop', 'everything']], source: davies },
  { name: 'electric', told: 'When she looks down, a current runs down her back.', yes: ['cord-electric'], held: [['stop', 'everything']], source: davies },
  { name: 'clumsy for two years', told: 'His hands have been clumsy and numb for two years; nobody has looked at the neck.', yes: ['clumsy-hands-old'], held: [['clearance', [...neck, ...overhead, ...gettingUp, 'knee-rolls']]], allowed: 'everything', source: davies },
  { name: 'saddle', told: 'Three days of numbness where she sits, and back pain.', yes: ['back-emergency', 'new-back-pain'], held: [['stop', 'everything']], source: `${finucane} ${nhsBack}` },
  { name: 'cannot pass urine', told: 'Back pain, and since yesterday the bladder does not empty.', yes: ['bladder-bowel-new', 'new-back-pain'], held: [['stop', 'everything']], source: nhsBack },
  { name: 'both legs weak', told: 'Over a week both legs have become weak.', yes: ['leg-weakness-new', 'cord-walking'], held: [['stop', 'everything']], source: nhsBack },
  { name: 'not sure about numbness', told: 'She is not sure whether it feels different between the legs.', yes: [], unsure: ['back-emergency'], held: [['stop', 'everything']], source: `${practice} Unsure counts as yes.` },
  { name: 'old numb feet', told: 'Numb feet from diabetes for ten years, tablets without low sugars, known to the doctor.', yes: ['leg-numbness-old'], held: [['change', gettingUp]], source: practice },

  // Brain and head
  { name: 'speech', told: 'On Sunday her speech was slurred for an hour.', yes: ['neck-emergency', 'stroke-lately'], held: [['stop', 'everything']], source: leaflets },
  { name: 'thunderclap', told: 'Two days ago the worst headache of his life began within a minute.', yes: ['sudden-headache'], held: [['stop', 'everything']], source: leaflets },
  { name: 'fell on the head', told: 'She fell yesterday, takes a blood thinner, and her head hurts.', yes: ['head-injury', 'fall-recent', 'fall-risk', 'blood-thinner'], held: [['stop', 'everything']], source: practice },
  { name: 'stroke two months ago', told: 'Stroke two months ago, home from rehabilitation, right arm weak.', yes: ['stroke-lately', 'hospital-lately'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'stroke six years ago', told: 'Stroke six years ago, left side a little weak, walks with a cane.', yes: ['stroke-old', 'unsteady'], held: [['change', gettingUp]], source: practice },
  { name: 'small attack five weeks ago', told: 'Five weeks ago one hand was weak for ten minutes; he told nobody.', yes: ['stroke-lately'], held: [['clearance', 'everything']], source: memory },
  { name: 'seizure', told: 'A seizure four months ago, tablets since.', yes: ['seizure'], held: [['clearance', ['lower-rib-breathing', 'quiet-breathing']], ['change', 'everything']], source: memory },
  { name: 'suddenly confused', told: 'Her daughter says that since last week she has been confused.', yes: ['confusion-new'], held: [['stop', 'everything']], source: memory },
  { name: 'Parkinson', told: 'Parkinson’s disease for five years, walks with a walker, falls now and then, the last fall in spring.', yes: ['nerve-disease', 'fall-risk', 'unsteady'], held: [['change', gettingUp]], source: practice },
  { name: 'room spins', told: 'The room spins when she rolls over in bed.', yes: ['rolling-dizziness'], held: [['clearance', [...gettingUp, ...neck]], ['change', lying]], source: practice },
  { name: 'black before the eyes', told: 'On standing up it goes black before his eyes.', yes: ['standing-faintness'], held: [['clearance', gettingUp]], source: 'Orthostatic hypotension: measured lying and standing; first aid is to lie down again. Common practice.' },
  { name: 'fainted on Monday', told: 'She passed out in the kitchen on Monday.', yes: ['faint-now', 'faint-lately', 'fall-recent'], held: [['stop', 'everything']], source: leaflets },
  { name: 'fainted two months ago', told: 'One faint two months ago, not looked into.', yes: ['faint-lately'], held: [['clearance', 'everything']], source: gibbons },

  // Heart and vessels
  { name: 'chest pain yesterday', told: 'Pressure in the chest yesterday evening, gone after ten minutes.', yes: ['chest-pain-now', 'chest-pain-lately'], held: [['stop', 'everything']], source: leaflets },
  { name: 'chest pain in summer', told: 'Chest pain once, almost three months ago, not since.', yes: ['chest-pain-lately'], held: [['clearance', 'everything']], source: `${leaflets} Asking the doctor first: common practice.` },
  { name: 'heart attack', told: 'Heart attack five weeks ago, a stent was put in.', yes: ['heart-attack-lately', 'chest-pain-lately', 'hospital-lately'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'old heart attack', told: 'Heart attack eight years ago, no complaints, walks an hour.', yes: ['heart-disease'], held: [['clearance', ['bridge']], ['change', holds]], allowed: straining, source: 'Williams 2007, Circulation 116:572 (second publication), on held breath.' },
  { name: 'bypass', told: 'Bypass operation six weeks ago, breastbone was opened.', yes: ['heart-operation', 'chest-restrictions', 'hospital-lately'], held: [['clearance', 'everything']], source: `${practice} The surgeon’s restrictions win.` },
  { name: 'angina for years', told: 'Angina on hills, unchanged for years, spray in the pocket, last used in spring.', yes: ['angina', 'heart-disease'], held: [['clearance', [...straining, ...holds]], ['change', 'everything']], allowed: 'everything', source: gibbons },
  { name: 'narrowed valve', told: 'Told of a narrowed aortic valve; no complaints.', yes: ['heart-valve'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'aneurysm', told: 'A widened artery in the belly, 4.5 cm, looked at every year.', yes: ['aneurysm'], held: [['clearance', [...straining, ...holds, 'knee-to-chest', 'stick-raise']]], allowed: 'everything', source: gibbons },
  { name: 'clot on treatment', told: 'Clot in the left leg two months ago, on a blood thinner, leg no longer swollen.', yes: ['clot', 'blood-thinner'], held: [['clearance', 'everything']], source: hillegass },
  { name: 'clot in the lung', told: 'Clot in the lung three weeks ago, home since a week.', yes: ['clot', 'blood-thinner', 'hospital-lately', 'breathlessness'], held: [['clearance', 'everything']], source: `${hillegass} ${gibbons}` },
  { name: 'swollen calf', told: 'Since Saturday the right calf is thick and sore.', yes: ['calf-signs'], held: [['stop', 'everything']], source: hillegass },
  { name: 'suddenly short of breath', told: 'Since yesterday she is short of breath on the stairs, which she never was.', yes: ['breathless-now', 'breathlessness'], held: [['stop', 'everything']], source: `${leaflets} ${hillegass}` },
  { name: 'three pillows for years', told: 'Weak heart for years, sleeps on three pillows because flat he gets no air; nothing new.', yes: ['heart-failure', 'lying-breathless'], held: [['clearance', lying]], allowed: 'everything', source: 'Orthopnea: common practice, no published source.' },
  { name: 'heart failure, water', told: 'Weak heart; three kilos heavier since last week, both legs thick.', yes: ['heart-failure', 'fluid-gain'], held: [['clearance', 'everything']], source: 'Published table of contraindications in cardiac rehabilitation (2 kg in 1 to 3 days), second publication.' },
  { name: 'heart failure, stable', told: 'Weak heart, well adjusted, sleeps flat.', yes: ['heart-failure'], held: [['clearance', ['bridge', 'straight-leg-raise']], ['change', [...holds, 'quiet-breathing']]], allowed: straining, source: `${practice} Williams 2007, Circulation 116:572 (second publication).` },
  { name: 'racing heart', told: 'This week the heart has raced at rest for an hour, twice.', yes: ['palpitations'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'atrial fibrillation', told: 'Atrial fibrillation for years, rate is steady, blood thinner.', yes: ['heart-rhythm', 'blood-thinner'], held: [['change', holds]], allowed: straining, source: practice },
  { name: 'pressure too high', told: 'At the last visit the pressure was 175 over 95 with tablets.', yes: ['uncontrolled-blood-pressure', 'treated-blood-pressure'], held: [['clearance', [...holds, 'bridge']]], allowed: straining, source: 'Williams 2007, Circulation 116:572 (American Heart Association), second publication.' },
  { name: 'pressure never measured', told: 'Nobody has measured the blood pressure for years.', yes: ['uncontrolled-blood-pressure'], held: [['clearance', holds]], allowed: straining, source: practice },
  { name: 'tablets for pressure', told: 'One tablet for blood pressure, 135 over 80.', yes: ['treated-blood-pressure'], held: [['change', holds]], source: 'Williams 2007, Circulation 116:572 (second publication).' },
  { name: 'new pacemaker', told: 'Pacemaker on the left three weeks ago.', yes: ['implanted-device', 'hospital-lately'], held: [['clearance', [...overhead, ...pushing]]], allowed: 'everything', source: 'NHS leaflet (Rotherham): four to six weeks no stretching above the shoulder, no lifting or weight bearing.' },
  { name: 'new pacemaker two months ago', told: 'Pacemaker on the left two months ago; the check was good.', yes: ['implanted-device'], held: [['clearance', [...overhead, ...pushing]]], allowed: [...bending, ...trunkAndShoulders], source: 'NHS leaflet (Rotherham) on pushing with that arm; three months are our careful margin.' },
  { name: 'old pacemaker', told: 'Pacemaker since 2015, checked each year.', yes: [], held: [], source: practice },
  { name: 'legs cramp on walking', told: 'Narrow arteries in the legs; calves cramp after 200 m and ease on standing.', yes: ['leg-arteries'], held: [['change', ['ankle-pumps']]], source: memory },

  // Lungs, lying down
  { name: 'COPD, steady', told: 'COPD, steady, inhaler, lies flat without trouble.', yes: ['lung-disease'], held: [['change', ['quiet-breathing', 'lower-rib-breathing', 'arm-reach']]], source: practice },
  { name: 'COPD, sits up to sleep', told: 'COPD, has slept half sitting for years.', yes: ['lung-disease', 'lying-breathless'], held: [['clearance', lying]], allowed: 'everything', source: practice },
  { name: 'pneumonia', told: 'Pneumonia three weeks ago, better, still tired.', yes: ['lung-lately'], held: [['clearance', 'everything']], source: practice },
  { name: 'blood in the cough', told: 'Coughed up some blood last week.', yes: ['coughed-blood'], held: [['stop', 'everything']], source: memory },
  { name: 'breath shorter since summer', told: 'For two months the stairs have been harder for breath; nobody has looked.', yes: ['breathlessness'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'oxygen', told: 'Oxygen at home at night and for walking, steady.', yes: ['oxygen', 'lung-disease'], held: [['change', 'everything']], source: practice },
  { name: 'heartburn', told: 'Heartburn when flat, fine with the head raised.', yes: ['reflux'], held: [['change', lying]], source: practice },
  { name: 'chokes', told: 'Chokes on tea since a stroke four years ago.', yes: ['swallowing', 'stroke-old'], held: [['change', lying]], allowed: [], source: practice },

  // Fever and general
  { name: 'fever', told: 'Fever of 38.6 since last night.', yes: ['fever', 'infection'], held: [['stop', 'everything']], source: `${gibbons} Acute infection with fever.` },
  { name: 'stomach bug', told: 'Vomiting and diarrhea since yesterday, no fever.', yes: ['infection'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'night pain for a year', told: 'For a year back pain has woken her every night, however she lies.', yes: ['night-pain', 'long-back-pain'], held: [['clearance', 'everything']], source: finucane },
  { name: 'eight kilos', told: 'Lost eight kilos since spring without trying.', yes: ['weight-loss'], held: [['clearance', 'everything']], source: finucane },
  { name: 'breast cancer long ago', told: 'Breast cancer 14 years ago, well since.', yes: ['cancer-past'], held: [['change', 'everything']], source: finucane },
  { name: 'cancer in the hip bone', told: 'Prostate cancer with a spot in the pelvis.', yes: ['bone-cancer', 'cancer-past'], held: [['clearance', 'everything']], source: finucane },
  { name: 'chemotherapy', told: 'Chemotherapy for bowel cancer, last course in September.', yes: ['cancer-treatment', 'cancer-past'], held: [['clearance', 'everything']], source: practice },
  { name: 'home from hospital', told: 'Home since ten days after a bad infection; weak.', yes: ['hospital-lately'], held: [['clearance', 'everything']], source: practice },
  { name: 'low sugars', told: 'Insulin; shaky and confused with low sugar twice this month.', yes: ['sugar-medicine', 'low-sugar-lately'], held: [['clearance', 'everything']], source: 'Diabetes associations: below 90 to 100 mg/dL carbohydrate first; severe lows to the doctor (second publications).' },
  { name: 'insulin, steady', told: 'Insulin, no low sugars this year.', yes: ['sugar-medicine'], held: [['change', 'everything']], source: 'Diabetes associations: measure first, sugar within reach (second publications).' },
  { name: 'sore on the tailbone', told: 'An open sore over the tailbone, nurse comes twice a week.', yes: ['sore-seat'], held: [['leave-out', [...lying, 'buttock-tightening']]], allowed: 'everything', source: 'Pressure injury guidelines: not on the sore (NPIAP, from memory).' },
  { name: 'sore heel', told: 'A sore on the right heel.', yes: ['sore-heel'], held: [['leave-out', ['heel-press', 'heel-slide', 'bridge']], ['change', ['quiet-breathing']]], allowed: ['thigh-press', 'leg-slide-out', 'ankle-pumps', 'knee-straightening', 'out-of-bed', 'sit-before-standing'], source: 'Pressure injury guidelines: heels free (NPIAP, from memory).' },
  { name: 'dialysis', told: 'Dialysis three times a week, shunt in the left arm.', yes: ['dialysis'], held: [['change', 'everything']], source: practice },
  { name: 'doctor said no effort', told: 'The doctor has told him to avoid effort until a test next week.', yes: ['effort-limited'], held: [['clearance', 'everything']], source: practice },

  // Falls
  { name: 'fell two weeks ago', told: 'Fell on the seat two weeks ago; sore, walks, nobody has looked.', yes: ['fall-recent', 'fall-risk', 'injury-pain'], held: [['stop', 'everything']], source: `${finucane} A minor fall may break an osteoporotic spine.` },
  { name: 'fell in spring', told: 'Fell once last spring over a rug, unhurt.', yes: ['fall-risk'], held: [['change', gettingUp]], source: practice },

  // Spine
  { name: 'sudden pain after lifting', told: 'Lifted a pot on Thursday; since then a sharp pain between the shoulder blades.', yes: ['sudden-back-pain', 'new-back-pain'], held: [['stop', 'everything']], source: finucane },
  { name: 'new ache for a month', told: 'A dull low back ache began a month ago; no injury.', yes: ['new-back-pain'], held: [['clearance', 'everything'], ['leave-out', [...bending, 'bridge']]], source: finucane },
  { name: 'fracture eight weeks ago', told: 'Collapsed first lumbar vertebra eight weeks ago, pain is easing.', yes: ['spinal-fracture', 'osteoporosis', 'old-spinal-fracture'], held: [['clearance', 'everything'], ['leave-out', bending]], source: 'Royal Osteoporosis Society through BMJ Best Practice (second publication).' },
  { name: 'picture still to come', told: 'The doctor thinks that a vertebra may have broken; the picture is on Friday.', yes: ['spinal-fracture-suspected'], held: [['clearance', 'everything']], source: finucane },
  { name: 'fracture twelve years ago', told: 'A vertebra sank in twelve years ago; back is quiet.', yes: ['old-spinal-fracture', 'osteoporosis', 'rounder-back', 'height-loss'], held: [['leave-out', bending], ['clearance', ['bridge', 'straight-leg-raise']]], allowed: [...overhead, 'bent-knee-fall-out', 'rest-arms-open'], source: sinaki },
  { name: 'osteoporosis only', told: 'Osteoporosis of the hip, tablets once a week, never broke anything.', yes: ['osteoporosis'], held: [['clearance', bending], ['change', gettingUp]], allowed: ['bridge'], source: giangregorio },
  { name: 'wrist after a slip', told: 'Broke the wrist at 61 after a slip on ice; bone density was never measured.', yes: ['fragility-fracture'], held: [['clearance', bending], ['change', gettingUp]], allowed: ['bridge'], source: giangregorio },
  { name: 'prednisone', told: 'Prednisone for polymyalgia for a year.', yes: ['steroid-tablets'], held: [['clearance', bending]], allowed: ['bridge'], source: giangregorio },
  { name: 'five centimeters', told: 'Five centimeters shorter than at thirty; no picture of the spine.', yes: ['height-loss'], held: [['clearance', bending]], allowed: ['bridge', 'straight-leg-raise'], source: 'LeBoff 2022 (BHOF guide), second publication: height loss asks for a picture.' },
  { name: 'only rounder', told: 'Her upper back has become a little rounder; same height, bones measured as good.', yes: ['rounder-back'], held: [['change', ['knee-to-chest', 'quiet-breathing']]], source: practice },
  { name: 'stiff spine', told: 'Ankylosing spondylitis for forty years, the neck does not turn.', yes: ['stiffened-spine'], held: [['clearance', [...neck, ...overhead, ...bending, ...gettingUp, 'bridge']], ['change', ['quiet-breathing']]], allowed: 'everything', source: 'Chaudhary 2011 and Heyde 2008 (reviews): unstable fractures after little, harm from positioning; second publications.' },
  { name: 'narrow canal', told: 'Narrowed canal in the low back; legs go numb on standing, better on sitting.', yes: ['lumbar-stenosis', 'leg-heaviness', 'leg-numbness-old'], held: [['clearance', ['straight-leg-raise', 'bridge']], ['change', ['quiet-breathing']]], allowed: [], source: `${practice} Extension narrows the canal.` },
  { name: 'sacks on the legs', told: 'Legs become heavy after ten minutes of standing; sitting helps; nobody has given it a name.', yes: ['leg-heaviness'], held: [['clearance', ['straight-leg-raise', 'bridge']]], source: practice },
  { name: 'old back ache', told: 'A low back ache for twenty years, unchanged.', yes: ['long-back-pain'], held: [['clearance', ['straight-leg-raise']]], source: `${practice} The exercise’s own caution.` },
  { name: 'fused back last spring', told: 'Two lumbar vertebrae fused seven months ago.', yes: ['spine-operation'], held: [['clearance', [...bending, ...straining, ...overhead, ...neck]], ['change', gettingUp]], allowed: [...trunkAndShoulders, 'pelvic-floor', 'bent-knee-fall-out'], source: `${practice} The surgeon’s restrictions win.` },
  { name: 'disc operation 1998', told: 'Disc operation in 1998, no complaints.', yes: ['spine-operation-old'], held: [['change', bending]], source: practice },

  // Neck
  { name: 'neck broken in March', told: 'Broke a bone of the neck eight months ago, collar until June.', yes: ['neck-fracture'], held: [['clearance', 'everything']], source: practice },
  { name: 'neck broken in 1980', told: 'Broke the neck in 1980, healed, no signs.', yes: ['neck-fracture-old'], held: [['clearance', neck], ['change', gettingUp]], source: practice },
  { name: 'rheumatoid', told: 'Rheumatoid arthritis for thirty years; neck creaks.', yes: ['rheumatoid', 'neck-pain', 'sore-hands'], held: [['clearance', [...neck, ...gettingUp]], ['change', lying]], source: 'Slater 2013, Man Ther 18:615 (rheumatoid upper neck instability), abstract.' },
  { name: 'rheumatoid, no complaint of the neck', told: 'Rheumatoid arthritis; the neck never hurt.', yes: ['rheumatoid'], held: [['clearance', [...neck, ...gettingUp]]], source: 'Slater 2013, Man Ther 18:615, abstract; half of those with instability have no symptoms (second publication).' },
  { name: 'collar', told: 'Told that the top of the neck is loose; wears a collar outdoors.', yes: ['neck-unstable', 'rheumatoid'], held: [['clearance', 'everything'], ['leave-out', neck]], source: 'Slater 2013, Man Ther 18:615, abstract.' },
  { name: 'stiff neck', told: 'The neck is sore in the mornings.', yes: ['neck-pain'], held: [['clearance', neck]], source: practice },
  { name: 'arm tingles', told: 'The right arm tingles down to the thumb since summer.', yes: ['arm-tingling', 'neck-pain'], held: [['clearance', neck], ['change', overhead]], source: practice },
  { name: 'dizzy on looking up', told: 'Looking up makes her dizzy and see double.', yes: ['neck-turn-dizzy'], held: [['clearance', neck]], allowed: gettingUp, source: memory },

  // Joints and operations
  { name: 'new hip', told: 'Left hip replaced five weeks ago, no bending past a right angle.', yes: ['hip-operation', 'movement-limited'], held: [['clearance', [...hipTurning, 'bridge', 'straight-leg-raise', 'knee-to-chest']]], allowed: 'everything', source: `${practice} The surgeon’s restrictions win.` },
  { name: 'new hip, free to move', told: 'Hip replaced eight months ago; the surgeon has set no limits.', yes: ['hip-operation'], held: [['clearance', [...hipTurning, 'bridge', 'knee-to-chest']], ['change', ['heel-slide']]], allowed: ['straight-leg-raise', 'hamstring-stretch', 'thigh-press', 'heel-press', 'out-of-bed', 'sit-before-standing'], source: `${practice} The surgeon’s restrictions win.` },
  { name: 'hip of 2010', told: 'Hip replaced in 2010, never any trouble.', yes: ['hip-replacement-old'], held: [['change', ['knee-to-chest', 'bent-knee-fall-out']]], source: practice },
  { name: 'hip that slipped out', told: 'The new hip of 2012 came out twice.', yes: ['hip-slipped', 'hip-replacement-old'], held: [['clearance', [...hipTurning, 'knee-to-chest']]], allowed: ['hamstring-stretch', 'heel-slide'], source: practice },
  { name: 'broken hip', told: 'Hip broken and nailed ten weeks ago.', yes: ['hip-operation', 'fragility-fracture'], held: [['clearance', [...hipTurning, 'bridge', 'straight-leg-raise']]], allowed: [...bending, 'thigh-press', 'heel-press', 'out-of-bed', 'sit-before-standing'], source: practice },
  { name: 'new knee', told: 'Right knee replaced four weeks ago.', yes: ['knee-operation'], held: [['clearance', ['straight-leg-raise', 'knee-straightening', 'thigh-tightening', 'bridge']], ['change', ['heel-slide']]], allowed: ['thigh-press', 'heel-press', 'out-of-bed', 'sit-before-standing'], source: `${practice} The surgeon’s restrictions win.` },
  { name: 'ankle mended', told: 'Ankle plated two months ago.', yes: ['foot-operation', 'other-fracture'], held: [['clearance', ['ankle-pumps', 'bridge', 'out-of-bed']]], allowed: ['thigh-press', 'heel-press', 'straight-leg-raise', 'sit-before-standing', ...hipTurning, ...straining, ...trunkAndShoulders, 'pelvic-floor', 'heel-slide', 'into-bed', 'log-roll', 'lying-down-and-getting-up'], source: practice },
  { name: 'shoulder repaired', told: 'Rotator cuff mended three months ago, sling off.', yes: ['shoulder-restrictions'], held: [['clearance', [...overhead, ...pushing, 'shoulder-rotation', 'shoulder-blade-setting', 'knee-to-chest', 'hamstring-stretch']]], allowed: ['rest-arms-open', 'hand-pumps'], source: `${practice} The surgeon’s restrictions win.` },
  { name: 'shoulder out in 1979', told: 'A shoulder came out once at school, never again.', yes: [], held: [], source: practice },
  { name: 'shoulder that slips', told: 'The left shoulder slips when she reaches out.', yes: ['shoulder-slips'], held: [['clearance', [...overhead, 'shoulder-rotation', 'upper-arm-press']], ['change', ['rest-arms-open']]], allowed: [...pushing, 'shoulder-blade-setting', ...bending], source: practice },
  { name: 'stiff shoulder', told: 'A stiff shoulder since years.', yes: ['sore-shoulder'], held: [['change', [...overhead, 'rest-arms-open']]], source: practice },
  { name: 'broken ribs', told: 'Three ribs broken five weeks ago in a fall at the table.', yes: ['rib-fracture', 'fragility-fracture'], held: [['clearance', [...overhead, 'lower-rib-breathing', 'shoulder-blade-setting', 'upper-arm-press', 'knee-to-chest']]], allowed: [...pushing, ...straining, ...bending, 'rest-arms-open', 'shoulder-rotation'], source: practice },
  { name: 'red knee', told: 'Since four days a knee is red, hot and thick.', yes: ['hot-joint', 'sore-hip-knee'], held: [['clearance', 'everything']], source: memory },

  // Belly, pelvis
  { name: 'bowel operation', told: 'Bowel operation nine weeks ago through the belly.', yes: ['belly-operation'], held: [['clearance', [...straining, 'pelvic-floor']], ['change', gettingUp]], allowed: [...trunkAndShoulders, ...bending], source: `${practice} The surgeon’s restrictions win.` },
  { name: 'groin hernia', told: 'A hernia in the groin, to be mended in spring.', yes: ['hernia'], held: [['clearance', straining]], source: practice },
  { name: 'leaks on coughing', told: 'Leaks a little on coughing for years.', yes: ['leaking'], held: [['change', ['abdominal-bracing', 'bridge']]], source: practice },
  { name: 'prolapse', told: 'A feeling of heaviness and something coming down.', yes: ['prolapse', 'leaking'], held: [['clearance', ['bridge', 'straight-leg-raise']], ['change', ['abdominal-bracing', 'pelvic-floor']]], allowed: straining, source: practice },
  { name: 'catheter', told: 'A catheter for a year.', yes: ['catheter'], held: [['clearance', ['pelvic-floor']]], source: practice },
  { name: 'expecting', told: 'Caregiver and patient at 41, in the sixth month.', yes: ['pregnancy'], held: [['clearance', [...lying, 'bridge']]], allowed: 'everything', source: practice },

  // Eyes, ears, mind
  { name: 'gas bubble', told: 'Retina operation twelve days ago, a gas bubble is in the eye.', yes: ['gas-bubble', 'retina-operation'], held: [['leave-out', lying]], allowed: 'everything', source: 'Eye hospitals after gas: not on the back (second publications).' },
  { name: 'retina in October', told: 'Retina operation six weeks ago, no bubble now.', yes: ['retina-operation'], held: [['leave-out', lying]], allowed: 'everything', source: practice },
  { name: 'curtain', told: 'Since yesterday flashes, and a curtain in the left eye.', yes: ['eye-signs'], held: [['stop', 'everything']], source: memory },
  { name: 'cataract', told: 'Cataract operation five weeks ago.', yes: ['eye-operation'], held: [['clearance', ['bridge']], ['change', ['head-press']]], allowed: straining, source: practice },
  { name: 'glaucoma', told: 'Drops for glaucoma.', yes: ['eye-pressure'], held: [['clearance', ['bridge']], ['change', ['head-press', 'muscle-relaxation']]], allowed: straining, source: practice },
  { name: 'deaf without aids', told: 'With the aids out she does not understand a voice beside her.', yes: ['hearing'], held: [['change', 'everything']], source: practice },
  { name: 'forgets steps', told: 'Early dementia, husband helps.', yes: ['memory-problems'], held: [['change', 'everything']], source: practice },
  { name: 'afraid of lying still', told: 'Lying still with eyes closed makes him panic.', yes: ['anxious-lying'], held: [['change', ['body-awareness-rest', 'muscle-relaxation']]], source: practice },

  // Controls: healthy or mild
  { name: 'nothing at all', told: '72, walks daily, no illness.', yes: [], held: [], source: practice },
  { name: 'stiff and well', told: '80, stiff, thyroid tablets, sleeps flat.', yes: [], held: [], source: practice },
  { name: 'sore knees', told: 'Worn knees that ache on stairs.', yes: ['sore-hip-knee'], held: [['change', ['heel-slide']]], source: practice },
  { name: 'tablets, rounder, leaks', told: '77, a tablet for pressure, a rounder back, leaks a little.', yes: ['treated-blood-pressure', 'rounder-back', 'leaking'], held: [['change', ['bridge', 'head-press']]], source: practice },
  { name: 'fell and stiff shoulder', told: '84, fell last winter, a stiff shoulder, hard to get out of bed.', yes: ['fall-risk', 'sore-shoulder', 'unsteady'], held: [['change', gettingUp]], source: practice },
  { name: 'knee of 2016', told: 'Knee replaced in 2016, bends well.', yes: [], held: [], source: practice },
  { name: 'clot twenty years ago', told: 'A clot in the leg twenty years ago; no tablets.', yes: [], held: [], source: practice },
  { name: 'chin tips up', told: 'Without a pillow the chin tips up.', yes: ['chin-tips', 'rounder-back'], held: [['change', lying]], source: practice },
  { name: 'hearing aids, understands', told: 'Wears aids, understands a voice without them.', yes: [], held: [], source: practice },
  { name: 'cold last month', told: 'A cold last month, well again.', yes: [], held: [], source: practice },
  { name: 'diabetes without low sugars', told: 'Diabetes with metformin only.', yes: [], held: [], source: practice },
  { name: 'varicose veins', told: 'Varicose veins, both legs a little thick in the evening as always.', yes: [], held: [], source: practice },

  // What the first reading of the interview had missed
  { name: 'arm in plaster', told: 'Broke the left wrist seven weeks ago on ice, plaster off since Monday.', yes: ['shoulder-restrictions', 'fragility-fracture'], held: [['clearance', [...pushing, ...overhead, 'hamstring-stretch', 'knee-to-chest', 'knee-rolls']], ['change', ['hand-pumps']]], allowed: trunkAndShoulders, source: practice },
  { name: 'not to lean', told: 'The doctor has said not to lean on the right arm.', yes: ['arm-limited'], held: [['clearance', pushing]], allowed: [...overhead, ...trunkAndShoulders, ...bending], source: practice },
  { name: 'back hurts lying', told: 'Flat on the back hurts after five minutes, as always.', yes: ['cannot-lie-flat', 'long-back-pain'], held: [['change', lying], ['clearance', ['straight-leg-raise']]], source: practice },
  { name: 'stoma', told: 'A stoma since 2019.', yes: ['stoma'], held: [['clearance', straining], ['change', gettingUp]], source: practice },
  { name: 'pelvis hurts', told: 'Pain low in the pelvis when she tightens.', yes: ['pelvic-pain'], held: [['clearance', ['pelvic-floor']], ['change', ['knee-squeeze']]], source: practice },
  { name: 'sore on the back of the head', told: 'A sore on the back of the head after a long stay in bed.', yes: ['sore-back-head'], held: [['leave-out', ['head-press']], ['clearance', lying]], allowed: 'everything', source: 'Pressure injury guidelines (NPIAP, from memory).' },
  { name: 'sees little', told: 'Macular degeneration, sees little.', yes: ['sight'], held: [['change', gettingUp]], source: practice },
  { name: 'thigh aches on standing', told: 'On bone tablets for nine years; for two months the thigh has ached when she stands on it.', yes: ['thigh-pain', 'osteoporosis'], held: [['clearance', [...bending, 'bridge', 'straight-leg-raise', 'out-of-bed', 'sit-before-standing']]], allowed: 'everything', source: 'Atypical thigh bone fracture: pain comes before the break. From memory.' },
  { name: 'pain down the leg', told: 'Pain shoots down the left leg since years, the same.', yes: ['leg-pain', 'long-back-pain'], held: [['clearance', ['straight-leg-raise', 'hamstring-stretch']], ['change', ['knee-to-chest']]], source: practice },
  { name: 'torn calf', told: 'Tore a calf muscle six weeks ago, seen by a doctor.', yes: ['muscle-tear'], held: [['clearance', ['hamstring-stretch', 'ankle-pumps', 'bridge']]], allowed: 'everything', source: memory },
  { name: 'sugar far too high', told: 'Sugar above 300 all week, very thirsty.', yes: ['high-sugar'], held: [['clearance', 'everything']], source: 'ACSM and ACC/AHA 2002 (Gibbons): uncontrolled metabolic disease, second publication.' },
  { name: 'sleeping pills', told: 'A sleeping pill every night, drowsy in the morning.', yes: ['drowsy-medicine'], held: [['change', gettingUp]], source: practice },
  { name: 'one leg', told: 'Left leg taken off below the knee in 2015, wears a prosthesis by day.', yes: ['limb-loss'], held: [['change', [...gettingUp, 'bridge']]], source: practice },
  { name: 'feeding tube', told: 'A feeding tube through the belly wall, fed four times a day.', yes: ['feeding-tube', 'swallowing'], held: [['change', lying]], allowed: straining, source: practice },
  { name: 'cord known to be narrow', told: 'A picture two years ago showed the spinal cord pressed in the neck; watched, no operation.', yes: ['cord-known'], held: [['clearance', 'everything'], ['leave-out', neck]], source: davies },
  { name: 'unsteady since the stroke', told: 'Unsteady since the stroke two months ago; the doctors know why.', yes: ['stroke-lately', 'unsteady'], held: [['clearance', 'everything']], source: gibbons },

  // With the exercises that were added after the first table
  { name: 'neck artery', told: 'The left neck artery is half closed; aspirin.', yes: ['neck-artery'], held: [['clearance', neck], ['change', holds]], source: practice },
  { name: 'lung that collapsed', told: 'A lung collapsed in 1995, well since.', yes: ['collapsed-lung'], held: [], source: practice },
  { name: 'latex', told: 'Rubber gloves give her a rash.', yes: ['latex'], held: [], source: practice },

  // What must be held of exercises that came after the table
  { name: 'roll with thin bones', told: 'Osteoporosis, wants to lie over a roll and stretch at the edge of the bed.', yes: ['osteoporosis'], held: [['clearance', ['upper-back-roll', 'hip-flexor-edge']], ['change', ['huff-and-cough', 'moving-sideways-in-bed']]], source: giangregorio },
  { name: 'roll after a fresh fracture', told: 'A vertebra broke ten weeks ago.', yes: ['spinal-fracture', 'old-spinal-fracture'], held: [['leave-out', ['upper-back-roll', 'hip-flexor-edge']], ['clearance', 'everything']], source: sinaki },
  { name: 'cough with an aneurysm', told: 'A widened artery in the belly, 4 cm; a cough in winter.', yes: ['aneurysm'], held: [['leave-out', ['huff-and-cough', 'upper-back-roll']], ['clearance', 'everything']], allowed: 'everything', source: gibbons },
  { name: 'stiff spine and a roll', told: 'Ankylosing spondylitis.', yes: ['stiffened-spine'], held: [['leave-out', ['upper-back-roll']], ['clearance', ['head-turns', 'growing-long', 'diagonal-reach', 'hip-flexor-edge']]], allowed: 'everything', source: practice },
  { name: 'narrow canal at the edge of the bed', told: 'A narrowed canal in the low back.', yes: ['lumbar-stenosis'], held: [['leave-out', ['hip-flexor-edge']], ['change', ['diagonal-reach', 'growing-long']], ['clearance', ['straight-leg-raise', 'bridge']]], allowed: [], source: practice },
  { name: 'heel propped with a sore', told: 'A sore on the heel.', yes: ['sore-heel'], held: [['leave-out', ['heel-prop', 'moving-up-in-bed', 'moving-sideways-in-bed', 'heel-press']]], allowed: 'everything', source: practice },
  { name: 'heel propped without feeling', told: 'Feet without feeling.', yes: ['leg-numbness-old'], held: [['clearance', ['heel-prop']]], source: practice },
  { name: 'neck turned with rheumatism', told: 'Rheumatoid arthritis for years.', yes: ['rheumatoid'], held: [['clearance', ['head-turns', 'growing-long', 'upper-back-roll', ...neck, ...gettingUp]]], source: practice },
  { name: 'band with a new pacemaker', told: 'Pacemaker six weeks ago.', yes: ['implanted-device'], held: [['clearance', ['band-pull-apart', 'ceiling-reach', 'diagonal-reach', 'moving-up-in-bed', ...overhead, ...pushing]], ['change', ['huff-and-cough']]], allowed: 'everything', source: practice },
  { name: 'strap with a mended shoulder', told: 'Shoulder mended two months ago.', yes: ['shoulder-restrictions'], held: [['clearance', ['strap-knee-bend', 'band-pull-apart', 'ceiling-reach', 'hip-flexor-edge']]], allowed: 'everything', source: practice },
  { name: 'edge of the bed and falls', told: 'Fell out of bed last year.', yes: ['fall-risk'], held: [['clearance', ['hip-flexor-edge']], ['change', gettingUp]], source: practice },
  { name: 'edge of the bed and memory', told: 'Forgets steps.', yes: ['memory-problems'], held: [['clearance', ['hip-flexor-edge']], ['change', 'everything']], source: practice },
  { name: 'neck artery and turning', told: 'A narrowed neck artery.', yes: ['neck-artery'], held: [['clearance', ['head-turns', ...neck]], ['change', holds]], source: practice },
  { name: 'cough after a collapsed lung', told: 'A lung collapsed years ago.', yes: ['collapsed-lung'], held: [['clearance', ['huff-and-cough']]], source: practice },
  { name: 'band and latex', told: 'Latex gives her a rash.', yes: ['latex'], held: [['change', ['band-pull-apart']]], source: practice },
  { name: 'front of a new hip', told: 'Hip put in from the front two months ago.', yes: ['hip-operation'], held: [['clearance', ['hip-flexor-edge', ...hipTurning]], ['change', ['diagonal-reach', 'strap-knee-bend']]], allowed: 'everything', source: practice },
  { name: 'cough with a hernia', told: 'A groin hernia.', yes: ['hernia'], held: [['clearance', ['huff-and-cough', 'hip-flexor-edge', ...straining]]], source: practice },

  // What the second reading of the interview looked for
  { name: 'spinal tap', told: 'A spinal tap on Thursday as an outpatient; walks about, no headache.', yes: ['spine-needle'], held: [['clearance', 'everything']], source: memory },
  { name: 'headache after the spinal tap', told: 'A spinal tap on Thursday; since then her head hurts when she sits up.', yes: ['spine-needle', 'new-headache'], held: [['clearance', 'everything']], source: memory },
  { name: 'cement', told: 'Cement was put into a broken vertebra ten days ago; it broke two months ago.', yes: ['spine-needle', 'spine-operation', 'spinal-fracture', 'old-spinal-fracture'], held: [['clearance', 'everything'], ['leave-out', ['knee-to-chest', 'knee-rolls', 'upper-back-roll']]], source: practice },
  { name: 'fall, blood thinner, no headache', told: 'Fell on Tuesday, takes a blood thinner, nothing hurts.', yes: ['fall-recent', 'fall-risk', 'blood-thinner'], held: [['clearance', 'everything']], source: practice },
  { name: 'dialysis with a shunt', told: 'Dialysis three times a week through the left arm.', yes: ['dialysis'], held: [['change', ['out-of-bed', 'strap-knee-bend', 'hamstring-stretch', 'band-pull-apart', 'quiet-breathing']]], source: practice },
  { name: 'dialysis through the belly', told: 'Dialysis at home through a tube in the belly.', yes: ['dialysis', 'tube-or-drain'], held: [['clearance', ['bridge', 'abdominal-bracing', 'huff-and-cough']], ['change', [...lying, 'knee-to-chest']]], allowed: [...straining, ...pushing, ...overhead], source: practice },
  { name: 'shunt before dialysis', told: 'An arm was prepared for dialysis last year, not on dialysis yet.', yes: ['dialysis'], held: [['change', pushing]], source: practice },
  { name: 'opening in the neck', told: 'Breathes through an opening in the neck since an operation four years ago.', yes: ['neck-opening'], held: [['clearance', [...lying, ...neck, 'head-turns', 'huff-and-cough', 'out-of-bed']]], allowed: 'everything', source: practice },
  { name: 'angina at rest', told: 'Angina for years; this week twice at rest.', yes: ['angina', 'chest-pain-now', 'chest-pain-lately'], held: [['stop', 'everything']], source: gibbons },
  { name: 'feet that stick', told: 'Parkinson’s disease; feet stick on turning, has not fallen this year.', yes: ['nerve-disease', 'unsteady'], held: [['change', gettingUp], ['clearance', ['hip-flexor-edge']]], source: practice },
  { name: 'blind', told: 'Blind for years, knows her room.', yes: ['sight'], held: [['change', gettingUp], ['clearance', ['hip-flexor-edge']]], source: practice },
  { name: 'few words', told: 'Since a stroke five years ago he understands little and finds few words; his wife helps.', yes: ['stroke-old', 'hard-to-tell'], held: [['change', 'everything'], ['clearance', ['hip-flexor-edge']]], source: practice },
  { name: 'forgets the left side', told: 'Stroke eight months ago; does not notice the left side.', yes: ['stroke-old', 'unsteady'], held: [['change', gettingUp], ['clearance', ['hip-flexor-edge']]], source: practice },
  { name: 'leg off above the knee', told: 'Right leg taken off above the knee; gets out of bed with a board.', yes: ['limb-loss', 'unsteady'], held: [['change', [...gettingUp, 'bridge', 'heel-slide']]], source: practice },
  { name: 'round back, tube and heartburn', told: 'A very round back, a feeding tube, heartburn when flat.', yes: ['rounder-back', 'chin-tips', 'feeding-tube', 'reflux', 'swallowing'], held: [['change', [...lying, 'knee-to-chest', 'out-of-bed']]], source: practice },
  { name: 'graft in the belly', told: 'A widened artery in the belly was lined five years ago; checked each year.', yes: ['aneurysm'], held: [['clearance', [...straining, ...holds]], ['leave-out', ['huff-and-cough']]], allowed: 'everything', source: practice },
  { name: 'torn big artery', told: 'The big artery tore two years ago and was mended.', yes: ['aneurysm', 'treated-blood-pressure'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'tailbone that gave way', told: 'A crack in the tailbone bone without a fall, three months ago.', yes: ['other-fracture', 'fragility-fracture', 'osteoporosis'], held: [['clearance', ['bridge', 'out-of-bed', 'knee-squeeze', 'straight-leg-raise', ...hipTurning]]], allowed: [...bending, 'thigh-press', 'heel-press', 'sit-before-standing', 'abdominal-bracing', 'ankle-pumps', 'shoulder-blade-setting', 'upper-arm-press', 'pelvic-floor'], source: practice },
  { name: 'cough that broke a rib', told: 'Coughed in bed; since four days a sharp pain at the ribs in front.', yes: ['chest-pain-now', 'chest-pain-lately'], held: [['stop', 'everything']], source: leaflets },
  { name: 'oxygen, second reading', told: 'Oxygen at home day and night for COPD; lies flat with one pillow.', yes: ['oxygen', 'lung-disease'], held: [['change', 'everything']], source: practice },
  { name: 'high pressure in the lungs', told: 'High pressure in the lungs, tablets, sleeps flat.', yes: ['heart-valve'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'epilepsy, quiet for years', told: 'Epilepsy; the last seizure was nine years ago.', yes: [], held: [], source: practice },
  { name: 'warm after a shot', told: 'A shot against flu the day before yesterday, 38.5 in the evening.', yes: ['fever'], held: [['stop', 'everything']], source: 'Common practice: no exercise with a fever, whatever its reason.' },
  { name: 'sore arm after a shot', told: 'A shot last week, the arm was sore for a day.', yes: [], held: [], source: practice },
  { name: 'shingles', told: 'Shingles on the chest since Sunday, tablets, no fever.', yes: ['infection'], held: [['clearance', 'everything']], source: practice },
  { name: 'gout', told: 'The big toe has been red and hot since Friday, as in other years.', yes: ['hot-joint'], held: [['clearance', 'everything']], source: practice },
  { name: 'tube in the kidney', told: 'A tube comes out of the back from the right kidney.', yes: ['tube-or-drain'], held: [['clearance', [...gettingUp, 'upper-back-roll', 'moving-up-in-bed']], ['change', lying]], allowed: [...pushing, ...straining, ...overhead], source: practice },
  { name: 'line in the arm', told: 'A line in the left upper arm for antibiotics at home, well otherwise.', yes: ['tube-or-drain', 'infection'], held: [['clearance', 'everything']], source: practice },
  { name: 'looked at the heart through the groin', told: 'Four days ago the heart was looked at through the groin as an outpatient; no stent.', yes: ['vessel-puncture'], held: [['clearance', 'everything']], source: 'Common practice: no hip bending with effort and no straining in the first days after a puncture of the groin.' },
  { name: 'shock at the table', told: 'The defibrillator gave a shock six weeks ago; tablets were changed.', yes: ['device-shock', 'heart-failure'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'sore jaw and temple', told: '79; for two weeks a new headache at the temple, the jaw aches on chewing.', yes: ['new-headache'], held: [['clearance', 'everything']], source: 'Giant cell arteritis: new headache after 50 and jaw pain on chewing, urgent referral. From memory.' },
  { name: 'migraine for forty years', told: 'Migraine since her thirties, the same as always.', yes: [], held: [], source: practice },
  { name: 'drain in the head', told: 'A drain from the head to the belly for too much fluid, put in six years ago.', yes: ['head-pressure'], held: [['clearance', 'everything']], source: practice },
  { name: 'thyroid last month', told: 'Thyroid operation five weeks ago, home the next day.', yes: ['spine-operation', 'other-operation'], held: [['clearance', 'everything']], source: practice },
  { name: 'wound on the sole', told: 'Diabetes; a wound under the ball of the foot for months.', yes: ['sore-heel', 'leg-numbness-old'], held: [['leave-out', ['bridge', 'heel-press', 'thigh-press']], ['change', [...gettingUp, ...lying]]], allowed: 'everything', source: practice },
  { name: 'sore on the hip', told: 'A sore over the left hip from lying on that side.', yes: ['sore-side'], held: [['clearance', gettingUp]], allowed: pushing, source: practice },
  { name: 'crown on a tooth', told: 'A crown was put on a tooth two weeks ago.', yes: [], held: [], source: practice },
  { name: 'breathing mask at night', told: 'Sleeps with a mask for pauses in breathing; lies flat without trouble.', yes: [], held: [], source: practice },
];
