import {
  bending,
  gettingUp,
  type History,
  hipTurning,
  holds,
  lying,
  neck,
  overhead,
  pushing,
  straining,
  trunkAndShoulders,
} from './histories.js';

// What people say at a visit, in their own words, written down with the decision before the rules were read.

const practice = 'Common practice, no published source.';
const memory = 'From memory.';
const finucane =
  'Finucane 2020, JOSPT 50:350 (IFOMPT framework of red flags of the spine), second publication.';
const rushton =
  'Rushton 2020, IFOMPT framework for the neck arteries before orthopedic treatment. From memory.';
const davies = 'Davies 2018, BMJ 360:k186 (degenerative cervical myelopathy).';
const gibbons =
  'ACC/AHA 2002 guideline for exercise testing (Gibbons), contraindications, second publication.';
const hillegass = 'Hillegass 2016, Phys Ther 96:143 (APTA guideline, venous thromboembolism), abstract.';
const surgeon = `${practice} The surgeon’s restrictions win.`;

// biome-ignore format: a table is read with one history a line
export const visitHistories: readonly History[] = [
  // After a fall or a blow
  { name: 'tumble on the ribs', told: 'I took a tumble on Sunday and hit my ribs; it hurts to breathe in.', yes: ['fall-recent', 'fall-risk', 'injury-pain'], unsure: ['chest-pain-now'], held: [['stop', 'everything']], source: finucane },
  { name: 'hip after a fall', told: 'Fell on Friday; the hip is sore, I can only just put weight on it.', yes: ['fall-recent', 'fall-risk', 'injury-pain', 'sore-hip-knee', 'thigh-pain'], held: [['stop', 'everything']], source: 'Hidden hip fracture: pain on standing after a fall, imaging first. From memory.' },
  { name: 'car crash', told: 'Somebody drove into our car two weeks ago; my neck has not been right since, nobody has looked.', yes: ['injury-pain', 'neck-pain'], held: [['stop', 'everything']], source: 'Canadian C-spine rule (Stiell 2001): over 65 with a crash, imaging first. From memory.' },
  { name: 'stiff spine, out of the chair', told: 'Ankylosing, since I was thirty. Slid out of a chair last week and the neck is sore.', yes: ['stiffened-spine', 'fall-recent', 'fall-risk', 'injury-pain', 'neck-pain'], held: [['stop', 'everything']], source: 'Westerveld 2009, Eur Spine J 18:145 (fractures of the ankylosed spine after minor falls). From memory.' },
  { name: 'cupboard door', told: 'Banged my shin on a cupboard in October; the doctor looked, it is only blue.', yes: [], held: [], source: practice },

  // Brain, cord, nerves
  { name: 'thick tongue', told: 'My tongue goes thick for a moment when I look up; on Tuesday again.', yes: ['neck-emergency', 'stroke-lately', 'neck-turn-dizzy'], held: [['stop', 'everything']], source: rushton },
  { name: 'faint on looking up', told: 'I nearly go out when I look up at the shelf, for years; no trouble with speech.', yes: ['neck-turn-dizzy'], held: [['clearance', [...neck, 'head-turns', 'upper-back-roll']], ['change', gettingUp]], source: rushton },
  { name: 'drops cups', told: 'My hands drop cups lately.', yes: ['cord-hands'], held: [['stop', 'everything']], source: davies },
  { name: 'shock down the back', told: 'Fingers numb, and a shock down the back when I bend my head.', yes: ['cord-electric', 'arm-tingling'], held: [['stop', 'everything']], source: davies },
  { name: 'no feeling when wiping', told: 'They put a catheter in last week because nothing came; I feel nothing when I wipe.', yes: ['back-emergency', 'catheter'], unsure: ['bladder-bowel-new'], held: [['stop', 'everything']], source: finucane },
  { name: 'foot that drags', told: 'Since Wednesday my left foot drags; the back only aches as always.', yes: ['leg-weakness-new', 'long-back-pain'], held: [['stop', 'everything']], source: finucane },
  { name: 'tingling that climbs', told: 'My feet tingle and for three days the legs get weaker from below.', yes: ['leg-weakness-new'], held: [['stop', 'everything']], source: memory },
  { name: 'half the face numb', told: 'On Saturday the left arm and cheek were numb for five minutes.', yes: ['neck-emergency', 'stroke-lately'], held: [['stop', 'everything']], source: 'Warning signs of stroke of the American Stroke Association: sudden numbness of one side. From memory.' },
  { name: 'droop two weeks ago', told: 'Two weeks ago my mouth drooped for ten minutes; I told nobody.', yes: ['neck-emergency', 'stroke-lately'], held: [['stop', 'everything']], source: 'NICE NG128 on suspected small strokes: seen at once within a week, within 7 days later. From memory.' },
  { name: 'first seizure', told: 'A seizure three weeks ago, the first in my life; the test is next month.', yes: ['seizure', 'faint-lately'], held: [['clearance', 'everything']], source: memory },
  { name: 'found on the floor', told: 'Last month I found myself on the bathroom floor and do not know how.', yes: ['faint-lately', 'fall-risk'], unsure: ['fall-recent'], held: [['clearance', 'everything']], source: 'Unexplained fall in older people is taken as a faint. Common practice.' },
  { name: 'brain stimulator', told: 'They put a stimulator into my brain for the shaking four weeks ago.', yes: ['implanted-device', 'other-operation', 'nerve-disease'], held: [['clearance', 'everything']], source: surgeon },
  { name: 'stimulator in the back', told: 'A spinal cord stimulator five weeks ago, for the leg pain.', yes: ['implanted-device', 'spine-operation', 'other-operation'], held: [['clearance', [...bending, ...overhead, ...pushing]]], allowed: 'everything', source: `${memory} Leads may slip in the first weeks with bending, turning and reaching.` },
  { name: 'muscles tire', told: 'Myasthenia; by the evening my head drops and I choke on my tea.', yes: ['nerve-disease', 'swallowing'], held: [['change', [...lying, ...neck]]], source: practice },
  { name: 'chokes on saliva', told: 'Parkinson’s; flat on my back I choke on my own saliva, eating is fine.', yes: ['nerve-disease', 'swallowing'], held: [['change', lying]], source: practice },
  { name: 'legs that do not move', told: 'A fall from a roof in 1988; since then the legs do not move. I get to bed with a board, by myself.', yes: ['nerve-disease', 'leg-numbness-old', 'unsteady'], held: [['change', 'everything'], ['clearance', ['hip-flexor-edge', 'heel-prop']]], source: practice },
  { name: 'daughter sees confusion', told: 'My daughter says that I have been muddled since Monday.', yes: ['confusion-new'], held: [['stop', 'everything']], source: memory },
  { name: 'sore scalp', told: '78. A new headache at the temple, combing hurts, the jaw tires on chewing.', yes: ['new-headache'], held: [['clearance', 'everything']], source: 'Mackie 2020, BSR guideline on giant cell arteritis, same-day referral. From memory.' },
  { name: 'spins to the right', told: 'I get vertigo when I roll to the right.', yes: ['rolling-dizziness'], held: [['clearance', [...gettingUp, 'head-turns']]], allowed: neck, source: 'Bhattacharyya 2017, guideline on benign positional vertigo. From memory.' },

  // Heart, vessels, blood
  { name: 'stent last month', told: 'They put a stent in last month; I may walk.', yes: ['heart-attack-lately', 'blood-thinner'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'jaw on the stairs', told: 'No chest pain; my jaw aches when I hurry, and stops when I stand. Since two weeks.', yes: ['chest-pain-now', 'chest-pain-lately'], held: [['stop', 'everything']], source: 'Pain of the heart without chest pain in older people, AHA/ACC 2021 guideline on chest pain. From memory.' },
  { name: 'tight on the stairs', told: 'The chest goes tight on the stairs, since a few weeks; nobody knows.', yes: ['chest-pain-now', 'chest-pain-lately'], held: [['stop', 'everything']], source: gibbons },
  { name: 'flutters and feels weak', told: 'My heart flutters, only seconds, but I go weak with it. Since last week.', yes: ['palpitations'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'two hundred at home', told: 'My own meter said 200 over 115 this morning.', yes: ['very-high-blood-pressure', 'uncontrolled-blood-pressure', 'treated-blood-pressure'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'two hundred and no tablets', told: '195 over 100 at the pharmacy on Monday; no doctor has told me anything.', yes: ['very-high-blood-pressure', 'uncontrolled-blood-pressure'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'giddy since the water pill', told: 'I go giddy on standing since the new water pill, nearly fell.', yes: ['standing-faintness', 'unsteady'], held: [['clearance', gettingUp]], source: practice },
  { name: 'five pounds', told: 'Heart failure; five pounds in three days, shoes do not fit.', yes: ['heart-failure', 'fluid-gain'], held: [['clearance', 'everything']], source: 'Published table of contraindications in cardiac rehabilitation, second publication.' },
  { name: 'aorta 5.2', told: 'They watch my aorta, 5.2 cm.', yes: ['aneurysm'], held: [['clearance', [...holds, ...straining]], ['leave-out', ['huff-and-cough']]], allowed: 'everything', source: gibbons },
  { name: 'waits for a valve', told: 'I am waiting for a new valve.', yes: ['heart-valve'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'lung pressure, faint', told: 'High pressure in the lungs, oxygen; I go faint when I hurry.', yes: ['heart-valve', 'oxygen', 'lung-disease'], held: [['clearance', 'everything']], source: 'ESC/ERS 2022 guideline on pulmonary hypertension: exercise under supervision. From memory.' },
  { name: 'breastbone seven weeks ago', told: 'Bypass seven weeks ago, breastbone wired.', yes: ['heart-operation', 'chest-restrictions'], held: [['clearance', 'everything']], source: 'Adams 2016 (keep the arms near the body after sternotomy). From memory.' },
  { name: 'valve through the groin', told: 'A new valve through the groin ten weeks ago.', yes: ['heart-operation', 'heart-valve'], held: [['clearance', 'everything']], source: surgeon },
  { name: 'bruised all over', told: 'On apixaban, and bruised all over for two weeks; have not told the doctor.', yes: ['bleeding-new', 'blood-thinner'], held: [['stop', 'everything']], source: practice },
  { name: 'black stools', told: 'Black sticky stools since I take ibuprofen, and I feel washed out.', yes: ['bleeding-new'], held: [['stop', 'everything']], source: memory },
  { name: 'hot calf after the knee', told: 'Knee replaced two weeks ago, the calf is hot.', yes: ['calf-signs', 'knee-operation', 'hospital-lately'], held: [['stop', 'everything']], source: hillegass },
  { name: 'arm swells after the port', told: 'Since the port went in ten days ago the whole arm is thick.', yes: ['calf-signs', 'other-operation', 'cancer-treatment', 'cancer-past'], held: [['stop', 'everything']], source: hillegass },
  { name: 'flight', told: 'Short of breath since Tuesday, a stitch on breathing in; we flew home on Sunday.', yes: ['breathless-now', 'breathlessness'], unsure: ['chest-pain-now', 'chest-pain-lately'], held: [['stop', 'everything']], source: hillegass },
  { name: 'pacemaker two weeks ago', told: 'Pacemaker on the left two weeks ago.', yes: ['implanted-device'], unsure: ['heart-operation'], held: [['clearance', [...overhead, ...pushing]]], allowed: 'everything', source: surgeon },
  { name: 'tearing pain', told: 'A tearing pain through the back since this morning; the belly throbs.', yes: ['sudden-back-pain', 'new-back-pain'], held: [['stop', 'everything']], source: finucane },

  // Lungs
  { name: 'oxygen, half sitting', told: 'COPD, oxygen; I sleep half sitting.', yes: ['lung-disease', 'oxygen', 'lying-breathless'], held: [['clearance', lying]], allowed: 'everything', source: practice },
  { name: 'piece of lung', told: 'They took out a piece of lung four weeks ago; stitches in the side.', yes: ['lung-lately', 'chest-restrictions', 'cancer-treatment', 'cancer-past'], held: [['clearance', 'everything']], source: surgeon },
  { name: 'acid to the throat', told: 'A hiatal hernia; flat, the food comes back up to my throat, no burning.', yes: ['reflux'], held: [['change', lying]], source: practice },

  // Spine and bones
  { name: 'cement three weeks ago', told: 'Cement in two vertebrae three weeks ago; they broke last winter.', yes: ['spine-operation', 'old-spinal-fracture'], unsure: ['other-operation'], held: [['clearance', [...bending, ...straining, ...neck, ...trunkAndShoulders.slice(0, 2), ...overhead]], ['change', gettingUp]], allowed: 'everything', source: surgeon },
  { name: 'infection in the spine', told: 'In summer they treated an infection in my spine for weeks; the antibiotics ended in September.', yes: ['spine-operation'], held: [['clearance', [...bending, ...straining, ...neck]], ['change', gettingUp]], allowed: 'everything', source: practice },
  { name: 'neck fused in June', told: 'Neck fused in June, C5 to C7.', yes: ['spine-operation'], held: [['clearance', [...neck, 'head-turns', ...overhead]]], allowed: 'everything', source: surgeon },
  { name: 'ankylosing', told: 'Ankylosing, since I was thirty; no fall, nothing new.', yes: ['stiffened-spine'], held: [['clearance', [...neck, ...gettingUp, 'bridge']], ['leave-out', ['upper-back-roll']]], allowed: 'everything', source: practice },
  { name: 'neck that clunks', told: 'Rheumatoid for thirty years; the neck clunks when I nod.', yes: ['rheumatoid', 'sore-hands'], unsure: ['neck-unstable'], held: [['clearance', [...neck, ...gettingUp]]], allowed: 'everything', source: 'Slater 2013, Man Ther 18:615, abstract.' },
  { name: 'groceries', told: 'Prednisone for ten years; since lifting the groceries on Tuesday a stab in the back.', yes: ['sudden-back-pain', 'new-back-pain', 'steroid-tablets'], held: [['stop', 'everything']], source: 'Downie 2013, BMJ 347:f7095 (red flags for fracture: age, steroids, trauma), abstract.' },
  { name: 'cannot turn in bed', told: '82; since Monday the back hurts so that I cannot turn in bed, it came by itself.', yes: ['sudden-back-pain', 'new-back-pain'], held: [['stop', 'everything']], source: finucane },
  { name: 'weight and night pain', told: 'Twelve pounds gone without trying; the back aches at night.', yes: ['weight-loss', 'night-pain'], held: [['clearance', 'everything']], source: finucane },
  { name: 'ribs at night', told: 'Breast cancer nine years ago; for two months one rib has woken me, however I lie.', yes: ['cancer-past', 'night-pain'], held: [['clearance', 'everything']], source: finucane },
  { name: 'myeloma', told: 'Myeloma, tablets, no pain.', yes: ['bone-cancer', 'cancer-past', 'cancer-treatment'], held: [['clearance', 'everything']], source: 'Campbell 2022 (exercise with bone metastases, international consensus). From memory.' },
  { name: 'Paget', told: 'Paget’s disease in the pelvis and two vertebrae.', yes: ['osteoporosis'], held: [['clearance', bending], ['change', gettingUp]], allowed: ['bridge'], source: memory },
  { name: 'pelvis cracked', told: 'Cracked the pelvis in front nine weeks ago, I may walk with the walker.', yes: ['other-fracture', 'fragility-fracture', 'fall-risk', 'unsteady'], held: [['clearance', ['bridge', 'knee-squeeze', 'out-of-bed', ...hipTurning]], ['change', ['buttock-tightening', 'thigh-tightening']]], allowed: 'everything', source: practice },
  { name: 'groin on stepping', told: 'Eight years of bone tablets; for four weeks the groin hurts at every step.', yes: ['thigh-pain', 'osteoporosis'], held: [['clearance', [...gettingUp, 'bridge', 'straight-leg-raise']]], allowed: 'everything', source: 'Shane 2014, ASBMR task force on atypical thigh bone fracture: pain before the break. From memory.' },
  { name: 'wrist in plaster', told: 'A broken wrist, in plaster; I push up with it.', yes: ['shoulder-restrictions', 'fragility-fracture', 'fall-risk'], held: [['clearance', pushing]], allowed: 'everything', source: practice },

  // Operations on joints and trunk
  { name: 'reverse shoulder', told: 'Reverse shoulder five weeks ago.', yes: ['shoulder-restrictions'], unsure: ['movement-limited'], held: [['clearance', [...overhead, ...pushing, 'shoulder-rotation']]], allowed: 'everything', source: surgeon },
  { name: 'cuff four weeks ago', told: 'Rotator cuff repaired four weeks ago, sling.', yes: ['shoulder-restrictions', 'arm-limited'], held: [['clearance', [...overhead, ...pushing, 'shoulder-rotation', 'band-pull-apart']]], allowed: 'everything', source: surgeon },
  { name: 'cuff torn', told: 'The scan shows a torn cuff since September; no operation.', yes: ['muscle-tear', 'sore-shoulder'], held: [['clearance', [...overhead, 'shoulder-rotation', 'ceiling-reach', 'band-pull-apart']], ['change', gettingUp]], allowed: 'everything', source: practice },
  { name: 'shoulder of last year', told: 'An artificial shoulder since two years; lifts to the shelf, never hurts.', yes: ['sore-shoulder'], held: [['change', [...overhead, 'out-of-bed']]], source: surgeon },
  { name: 'hip from behind', told: 'Hip replaced three weeks ago from behind; not past ninety.', yes: ['hip-operation', 'movement-limited', 'hospital-lately'], held: [['clearance', 'everything']], source: surgeon },
  { name: 'hip from the front', told: 'Hip replaced five weeks ago from the front; told nothing but no big steps back.', yes: ['hip-operation'], unsure: ['movement-limited'], held: [['clearance', ['bridge', 'hip-flexor-edge', ...hipTurning]]], allowed: 'everything', source: surgeon },
  { name: 'hip broken, no operation', told: 'Broke the hip four months ago; it was left to heal by itself.', yes: ['hip-operation', 'fragility-fracture'], held: [['clearance', ['bridge', 'straight-leg-raise', ...hipTurning]], ['change', ['thigh-tightening', 'heel-slide']]], allowed: [...bending, 'thigh-press', 'heel-press', 'out-of-bed', 'sit-before-standing'], source: surgeon },
  { name: 'new bag', told: 'A colostomy five weeks ago.', yes: ['belly-operation', 'stoma'], held: [['clearance', [...straining, 'knee-to-chest', 'knee-rolls', 'huff-and-cough']], ['change', gettingUp]], allowed: 'everything', source: surgeon },
  { name: 'bulge beside the bag', told: 'Beside the stoma it bulges like an orange when I cough.', yes: ['stoma', 'hernia'], held: [['clearance', [...straining, 'huff-and-cough']], ['change', ['knee-to-chest', ...gettingUp]]], source: practice },
  { name: 'breast rebuilt', told: 'Mastectomy three weeks ago, rebuilt at once.', yes: ['chest-restrictions', 'cancer-treatment', 'cancer-past'], held: [['clearance', [...overhead, ...pushing]]], allowed: 'everything', source: surgeon },
  { name: 'port last week', told: 'A port-a-cath put in last week.', yes: ['other-operation', 'cancer-treatment', 'cancer-past'], held: [['clearance', 'everything']], source: surgeon },
  { name: 'graft on the back', told: 'Burned my back on the radiator; skin was put on three weeks ago.', yes: ['other-operation', 'sore-back-head'], held: [['clearance', lying], ['leave-out', ['shoulder-blade-setting', 'head-press']]], allowed: 'everything', source: practice },

  // Sugar, kidneys, skin, infection, medicine
  { name: 'low at six', told: 'Insulin pump; the sensor showed 58 at six in the morning, twice this week. I felt nothing.', yes: ['low-sugar-lately', 'sugar-medicine'], unsure: ['tube-or-drain'], held: [['clearance', 'everything']], source: 'ADA Standards of Care: below 70 mg/dL is low, unnoticed lows need a change of treatment. From memory.' },
  { name: 'thirsty', told: 'Sugar over 300 this week, thirsty.', yes: ['high-sugar'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'fistula', told: 'Dialysis fistula in the left arm.', yes: ['dialysis'], held: [['change', ['band-pull-apart', 'strap-knee-bend', 'upper-arm-press', ...gettingUp]]], source: practice },
  { name: 'belly full of fluid', told: 'I do dialysis at night through the belly; mornings it is still full.', yes: ['dialysis', 'tube-or-drain'], held: [['change', [...straining, 'knee-to-chest']]], allowed: 'everything', source: practice },
  { name: 'hot lymphedema', told: 'Lymphedema arm; since yesterday it is red and hot.', yes: ['calf-signs', 'lymphedema', 'cancer-past'], unsure: ['infection'], held: [['stop', 'everything']], source: 'Cellulitis in a swollen limb, International Society of Lymphology. From memory.' },
  { name: 'lymphedema arm', told: 'Lymphedema of the right arm for six years, sleeve by day.', yes: ['lymphedema', 'cancer-past'], held: [['change', ['band-pull-apart', 'strap-knee-bend', 'hamstring-stretch']]], source: practice },
  { name: 'blisters', told: 'A band of blisters on the ribs since Friday, burning.', yes: ['infection'], unsure: ['chest-pain-now', 'sore-back-head'], held: [['clearance', 'everything']], source: practice },
  { name: 'back and a fever', told: 'Fever since yesterday and the back hurts; a tooth was bad.', yes: ['fever', 'new-back-pain'], held: [['stop', 'everything']], source: finucane },
  { name: 'heel', told: 'A black spot on the heel from the hospital bed.', yes: ['sore-heel'], held: [['leave-out', ['heel-press', 'heel-slide', 'bridge', 'heel-prop']]], allowed: 'everything', source: 'Pressure injury guidelines: heels free (NPIAP, from memory).' },
  { name: 'tailbone open', told: 'Open over the tail bone.', yes: ['sore-seat'], held: [['leave-out', [...lying, 'bridge']]], allowed: 'everything', source: 'Pressure injury guidelines: not on the sore (NPIAP, from memory).' },
  { name: 'chemo and spots', told: 'Chemo last week; spots in the hip bone.', yes: ['cancer-treatment', 'bone-cancer', 'cancer-past'], held: [['clearance', 'everything']], source: 'Campbell 2022 (exercise with bone metastases). From memory.' },
  { name: 'patch doubled', told: 'The pain patch was doubled on Monday; I doze off all day.', yes: ['drowsy-medicine'], unsure: ['confusion-new'], held: [['change', gettingUp]], allowed: 'everything', source: practice },
  { name: 'wine', told: 'Half a bottle of wine every evening before the exercises; no tablets.', yes: ['drowsy-medicine'], held: [['change', gettingUp]], source: practice },
  { name: 'bleeds easily', told: 'The platelets are low for years; I bleed easily, the doctor knows.', yes: ['blood-thinner'], held: [['change', gettingUp]], source: practice },

  // Eyes, ears, thinking, home
  { name: 'gas last week', told: 'Retina done last week, gas in the eye.', yes: ['gas-bubble', 'retina-operation'], held: [['leave-out', lying]], allowed: 'everything', source: 'Eye hospitals after gas: not on the back (second publications).' },
  { name: 'cataract four days ago', told: 'Cataract four days ago.', yes: ['eye-operation'], held: [['clearance', ['bridge', 'huff-and-cough']], ['change', lying]], allowed: straining, source: practice },
  { name: 'curtain yesterday', told: 'A curtain over the right eye since yesterday.', yes: ['eye-signs', 'neck-emergency'], held: [['stop', 'everything']], source: memory },
  { name: 'deaf and alone', told: 'Without my aids I hear nothing, I take them out in bed, and I live alone.', yes: ['hearing'], held: [['change', 'everything']], source: practice },
  { name: 'does not see it himself', told: 'He says his memory is fine; his wife has had him tested.', yes: ['memory-problems'], held: [['change', 'everything']], source: `${practice} People with memory loss often do not notice it.` },
  { name: 'cannot get out alone', told: 'I live alone; out of bed only when the nurse lifts me.', yes: ['hard-in-and-out', 'unsteady'], held: [['clearance', gettingUp]], allowed: ['moving-up-in-bed'], source: practice },
  { name: 'cannot hold water down', told: 'Vomiting since the night, cannot keep water down.', yes: ['infection'], held: [['clearance', 'everything']], source: gibbons },

  // Harmless, or only a little in the way
  { name: 'frozen shoulder', told: 'Frozen shoulder for eight months, loosening.', yes: ['sore-shoulder'], held: [['change', overhead]], source: practice },
  { name: 'pacemaker for six years', told: 'Pacemaker for six years.', yes: [], held: [], source: practice },
  { name: 'cataracts long done', told: 'Both cataracts done three years ago.', yes: [], held: [], source: practice },
  { name: 'hip of nine years', told: 'Hip replaced nine years ago, no limits.', yes: ['hip-replacement-old'], held: [['change', ['knee-to-chest']]], source: practice },
  { name: 'drops, pressure good', told: 'Glaucoma drops, pressure good.', yes: ['eye-pressure'], held: [['change', ['head-press']]], allowed: straining, source: practice },
  { name: 'flutter, thinner', told: 'Blood thinner for atrial fibrillation, no bruises.', yes: ['heart-rhythm', 'blood-thinner'], held: [['change', holds]], source: practice },
  { name: 'diet for sugar', told: 'Sugar by diet alone.', yes: [], held: [], source: practice },
  { name: 'bypass twelve years ago', told: 'Bypass twelve years ago, I walk an hour a day.', yes: ['heart-disease'], held: [['change', holds]], allowed: straining, source: practice },
  { name: 'an inch shorter', told: 'An inch shorter than in youth, bones measured as thin.', yes: ['osteoporosis'], held: [['clearance', bending]], allowed: ['bridge'], source: practice },
  { name: 'bag for ten years', told: 'A colostomy for ten years, no bulge.', yes: ['stoma'], held: [['change', gettingUp]], allowed: straining, source: practice },
  { name: 'breast fifteen years ago', told: 'Mastectomy fifteen years ago, no swelling.', yes: ['cancer-past'], held: [['change', 'everything']], source: finucane },
  { name: 'knee that creaks', told: 'The kneecaps creak, no pain.', yes: [], held: [], source: practice },
  { name: 'leaks on sneezing', told: 'I leak a little on sneezing, for years.', yes: ['leaking'], held: [['change', ['bridge']]], source: practice },
  { name: 'ankles in the evening', told: 'Both ankles are thick in the evening for years and thin in the morning.', yes: [], held: [], source: practice },
  { name: 'lives alone, gets up well', told: 'I live alone, get up easily, the phone is by the bed.', yes: [], held: [], source: practice },
  { name: 'asthma', told: 'Asthma, inhaler, well.', yes: ['lung-disease'], held: [['change', ['quiet-breathing']]], source: practice },
  { name: 'needle at thirty', told: 'Fainted once at thirty when blood was drawn.', yes: [], held: [], source: practice },
  { name: 'ringing', told: 'Ringing in the ears for years.', yes: [], held: [], source: practice },
  { name: 'restless legs', told: 'Restless legs at night, told so by the doctor.', yes: [], held: [], source: practice },
  { name: 'iron tablets', told: 'Black stools from the iron tablets, as the doctor said they would be.', yes: [], held: [], source: practice },
  { name: 'port for two years', told: 'A port under the skin for two years, not used since.', yes: ['cancer-past'], held: [['change', 'everything']], source: practice },
  { name: 'hiatal hernia, quiet', told: 'A hiatal hernia on a picture; never any burning.', yes: [], held: [], source: practice },
  { name: 'glass on Sunday', told: 'A glass of wine on Sundays.', yes: [], held: [], source: practice },
  { name: 'thin tablet for mood', told: 'A tablet for mood in the morning, not drowsy.', yes: [], held: [], source: practice },
  { name: 'pressure 130', told: 'A tablet for pressure, 130 over 75, measured this month.', yes: ['treated-blood-pressure'], held: [['change', holds]], source: practice },
  { name: 'loses keys', told: 'I lose my keys like everybody; nobody worries.', yes: [], held: [], source: practice },

  // Written after the first round, against the mended questions
  { name: 'neck pain like no other', told: 'Since Saturday a pain in the side of the neck, such as I never had, and the head hurts.', yes: ['sudden-headache', 'neck-pain', 'new-headache'], held: [['stop', 'everything']], source: rushton },
  { name: 'ten weeks of back pain', told: '79; the back began to hurt ten weeks ago, nobody has made a picture.', yes: ['new-back-pain'], held: [['clearance', 'everything'], ['leave-out', bending]], source: `${finucane} Chronic is more than twelve weeks: Qaseem 2017, ACP guideline, from memory.` },
  { name: 'hip since the fall in August', told: 'Fell nine weeks ago; the wrist was looked at, the hip still hurts and nobody asked about it.', yes: ['injury-pain', 'fall-risk', 'sore-hip-knee'], unsure: ['thigh-pain'], held: [['stop', 'everything']], source: 'Hidden hip or pelvic fracture after a fall. From memory.' },
  { name: 'chest pain five months ago', told: 'Pressure in the chest in June, twice; never told anybody.', yes: ['chest-pain-lately'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'belly since yesterday', told: 'A strong belly ache since yesterday, no fever.', yes: ['infection'], held: [['clearance', 'everything']], source: practice },
  { name: 'feels ill', told: 'I feel ill and shivery inside, no fever on the thermometer.', yes: ['infection'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'pulse of 38', told: 'The pulse is 38; they talk about a pacemaker. I get weak on the stairs.', yes: ['palpitations'], held: [['clearance', 'everything']], source: gibbons },
  { name: 'veins in the gullet', told: 'The liver is scarred; veins in the gullet bled last year.', yes: ['aneurysm'], unsure: ['blood-thinner'], held: [['clearance', [...straining, ...holds]], ['leave-out', ['huff-and-cough']]], allowed: 'everything', source: practice },
  { name: 'water in the belly', told: 'The liver; the belly is full of water.', yes: ['hernia'], held: [['clearance', [...straining, 'huff-and-cough']], ['change', ['knee-to-chest', ...gettingUp]]], source: practice },
  { name: 'spells of spinning', told: 'Spells of spinning for hours, from the ear; whether I lie or sit.', yes: ['rolling-dizziness'], held: [['clearance', gettingUp]], allowed: neck, source: practice },
  { name: 'psoriasis in the neck', told: 'Psoriatic arthritis for twenty years, the neck too.', yes: ['rheumatoid'], unsure: ['stiffened-spine'], held: [['clearance', [...neck, ...gettingUp]]], allowed: 'everything', source: memory },
  { name: 'bridges of bone', told: 'DISH, the doctor says: bridges of bone down the spine.', yes: ['stiffened-spine'], held: [['clearance', [...neck, ...gettingUp]], ['leave-out', ['upper-back-roll']]], allowed: 'everything', source: 'Westerveld 2009, Eur Spine J 18:145 (ankylosing spondylitis and DISH). From memory.' },
  { name: 'breastbone clicks', told: 'Bypass six months ago; the breastbone clicks when I turn in bed.', yes: ['rib-fracture', 'heart-disease'], held: [['clearance', [...overhead, ...pushing]]], allowed: 'everything', source: 'El-Ansary 2019 (the breastbone after operation: clicking is a sign that it is unstable). From memory.' },
  { name: 'no weight on the foot', told: 'My foot is in a boot for a bone that crumbles; no weight on it.', yes: ['movement-limited', 'leg-numbness-old'], held: [['clearance', 'everything']], source: practice },
  { name: 'home from rehabilitation', told: 'Home since Friday from the rehabilitation clinic after pneumonia in August.', yes: ['hospital-lately'], held: [['clearance', 'everything']], source: practice },
  { name: 'blood in the water', told: 'Twice this week the urine was red.', yes: ['bleeding-new'], held: [['stop', 'everything']], source: memory },
  { name: 'neck fused in 2012', told: 'Neck fused in 2012, turns less, no pain.', yes: ['spine-operation-old'], held: [['change', [...neck, 'head-turns', ...bending]]], source: practice },
  { name: 'cramp in spring', told: 'Varicose veins, and a cramp in the calf once in spring.', yes: [], held: [], source: practice },
  { name: 'valve that leaks a little', told: 'A valve leaks a little, the heart doctor is content, once every two years.', yes: [], unsure: ['heart-disease'], held: [['change', holds]], allowed: straining, source: practice },
  { name: 'flickering before migraine', told: 'Zigzags before the eyes with my migraine, as for forty years; the nerve doctor knows.', yes: [], held: [], source: practice },
  { name: 'arthritis of the thumb', told: 'The thumb joint is worn; jars are hard to open. The doctor has made a picture.', yes: ['sore-hands'], held: [['change', ['out-of-bed']]], source: practice },
  { name: 'back pain since spring, known', told: 'Low back pain since spring, a worn joint, the therapist knows it.', yes: ['long-back-pain'], held: [['clearance', ['straight-leg-raise']], ['change', bending]], source: practice },
  { name: 'two inches', told: 'Two inches shorter than at thirty; no picture of the back, no pain.', yes: ['height-loss'], held: [['clearance', [...bending, 'bridge', 'upper-back-roll', 'hip-flexor-edge']], ['change', ['huff-and-cough', 'moving-up-in-bed', 'stick-raise', ...gettingUp]]], source: 'LeBoff 2022 (BHOF guide), second publication: height loss asks for a picture.' },
  { name: 'ribs, turning', told: 'Four ribs broken nine weeks ago; turning the trunk still hurts, the doctor knows.', yes: ['rib-fracture', 'fall-risk'], held: [['clearance', ['knee-rolls', 'lower-rib-breathing', ...overhead]], ['leave-out', ['upper-back-roll']]], allowed: 'everything', source: practice },
  { name: 'strap and narrow arteries', told: 'The leg arteries are narrow; the calf cramps after the mailbox and eases.', yes: ['leg-arteries'], held: [['change', ['strap-knee-bend', 'knee-to-chest']], ['clearance', ['heel-prop']]], source: practice },
  { name: 'tendon of the heel', told: 'The tendon at the heel was sewn four months ago; I walk in shoes again.', yes: ['foot-operation'], held: [['clearance', ['ankle-pumps', 'bridge', 'out-of-bed']], ['change', gettingUp]], allowed: ['thigh-press', 'heel-press', 'sit-before-standing'], source: surgeon },
  { name: 'knee at nine months', told: 'Knee replaced nine months ago, bends well.', yes: ['knee-operation'], held: [['clearance', ['straight-leg-raise', 'bridge']], ['change', gettingUp]], allowed: ['knee-straightening', 'thigh-tightening', 'thigh-press', 'heel-press', 'out-of-bed', 'sit-before-standing'], source: surgeon },
];
