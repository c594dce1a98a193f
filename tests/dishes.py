"""Fifteen dishes as people write them (invented): the lines a cook would type, from a poured sauce to a pastry, and some without starch."""

DISHES = {
    "carrot_soup": """Carrot soup, how much carrot?
Serves 6

800g carrots, sliced
1 onion
30g butter
1L vegetable stock
100ml single cream
6g fine salt

1. Sweat the onion in the butter for 8 minutes. Add carrots and stock and simmer 25 minutes.
2. Blend, then stir in cream and salt.""",
    "cheese_sauce": """Cheddar sauce
Makes 700 ml

40g butter
40g plain flour
600ml whole milk
150g mature cheddar, grated
1 tsp English mustard
pinch of cayenne

1. Melt the butter, stir in the flour, cook for 2 minutes.
2. Whisk in the milk bit by bit and simmer 5 minutes. Take it off the heat and beat in cheese, mustard and cayenne.""",
    "chicken_and_sausage_dark_roux": """Chicken and sausage pot, dark roux
Serves 8

2/3 cup vegetable oil
3/4 cup all-purpose flour
1 large onion, diced
1 green bell pepper, diced
2 ribs celery, diced
4 cloves garlic, minced
6 cups chicken stock
12 oz smoked sausage, sliced
1 1/2 lb chicken thighs
2 tsp cajun seasoning
2 bay leaves

1. Stir the flour in the oil over the heat until it has the colour of dark chocolate, 40 minutes.
2. Add onion, pepper, celery and garlic, 5 minutes. Whisk in the stock.
3. Add sausage, chicken, seasoning and bay and simmer 1 hour.""",
    "chilled_cucumber_yoghurt_soup": """Cold cucumber and yoghurt soup
Serves 4

2 cucumbers, peeled and chopped
500g Greek yoghurt
1 clove garlic
1 slice stale white bread, crusts off
3 tbsp olive oil
200ml iced water
handful of mint
1/2 tsp salt

1. Blend it all until smooth. Chill 3 hours. Serve at 6C.""",
    "fish_and_sweetcorn_chowder": """Smoked fish and sweetcorn chowder
Serves 4

50g butter
1 leek, finely sliced
500g potatoes, half diced and half grated
600ml whole milk
300ml fish stock
150g frozen sweetcorn
400g undyed smoked haddock, skinned
150ml double cream
small handful chives, snipped

1. Sweat the leek in the melted butter 10 minutes. Add potatoes, milk and stock, simmer 15 minutes.
2. Add sweetcorn and fish and poach 5 minutes. Stir in the cream and chives.""",
    "lamb_shoulder_braise": """Braised lamb shoulder
Serves 4-6

1.2kg boned lamb shoulder, in 4cm pieces
3 tbsp plain flour, for dusting the meat
2 tbsp olive oil
1 large onion, finely chopped
2 cloves garlic, crushed
200ml red wine
400g tin chopped tomatoes
500ml lamb stock
1 bay leaf
salt & pepper

1. Turn the lamb in the flour and shake the excess off. Brown it in the oil in batches, 15 minutes.
2. Add onion and garlic, cook 5 minutes, pour in wine, tomatoes and stock, and add the bay leaf.
3. Cover, and cook at 160C fan for 2 hours. Season.""",
    "onion_gravy_two_starches": """Onion gravy, two starches
Serves 6

2 large onions, thinly sliced
2 tbsp olive oil
750ml vegetable stock
15g cornflour
15g tapioca starch
1 tbsp tamari

1. Cook the onions in the oil for 30 minutes until deep brown.
2. Add stock and tamari and simmer 5 minutes. Slake both starches in 4 tbsp cold water, stir them in and boil 1 minute.""",
    "pan_gravy": """Pan gravy
Makes about 1 pint

pan juices from the roast, skimmed, made up to 600ml with chicken stock
2 tbsp fat from the roasting tin
2 rounded tbsp plain flour
a splash of soy sauce

1. Stir the flour into the fat for 2 minutes over a medium heat.
2. Add the measured juices little by little, simmer 8 minutes, add the soy sauce.""",
    "pastry_cream": """Pastry cream with vanilla
Makes 700 g

500ml whole milk
5 egg yolks
100g caster sugar
40g cornflour
1 tsp vanilla bean paste
30g butter, cold, cubed

1. Heat milk and vanilla to steaming.
2. Whisk yolks, sugar and cornflour, pour the milk on, put it back into the pan and boil 1 minute, whisking.
3. Beat in the butter, press film onto the top, chill.""",
    "pork_and_prune_pot_under_pressure": """Pork and prunes under pressure
Serves 5-6

1 kg boneless pork shoulder, in 4 cm chunks
1 tbsp oil
2 onions (250g), thickly sliced
3 parsnips, in chunks
12 prunes
150ml dry cider
1 tbsp grain mustard
1 1/2 tsp fine salt
25g cornflour
3 tbsp cold water

1. Brown the pork in the oil, two batches, 10 minutes.
2. Add all but the cornflour and the cold water. Lock the lid, bring to high pressure and cook 30 minutes; let the pressure fall by itself.
3. Slake the cornflour in the cold water, stir it in and simmer 3 minutes until glossy.""",
    "red_lentil_dal": """Red dal for a weekday
Serves 4

250g split red lentils, rinsed
1.1 litres water
1 tsp ground turmeric
2 tbsp ghee
1 tsp cumin seeds
3 cloves garlic, sliced
1 1/2 tsp salt
juice of half a lemon

1. Simmer lentils and turmeric in the water for 25 minutes, then whisk until creamy.
2. Fry cumin and garlic in the ghee 2 minutes and pour them over. Stir in salt and lemon juice.""",
    "rhubarb_galette": """Rhubarb galette
Serves 8

Pastry:
220g plain flour
110g cold butter, cubed
60ml iced water
pinch of salt

Filling:
500g rhubarb, in 3 cm lengths
90g caster sugar
1 tbsp cornflour
1 egg, beaten, to glaze

1. Rub the butter into flour and salt, bring it together with the water and let it rest 40 minutes.
2. Toss rhubarb, sugar and cornflour. Roll the pastry to 34 cm, pile the fruit on, fold in the edges and glaze.
3. Bake for 40 minutes at 200C. Let it stand 20 minutes before cutting.""",
    "swede_and_celery_soup": """Celery and swede soup
Serves 6

25g butter
600g swede, peeled and diced
2 sticks celery, chopped
2 medium floury potatoes (250g), peeled and diced
900ml vegetable stock, hot
1 heaped tsp cornflour, slaked in a splash of cold milk
80ml double cream, to finish
sea salt and white pepper

1. Sweat the celery in the butter 12 minutes, lid on.
2. Add swede, potatoes and stock, simmer 25 minutes, blend until very smooth.
3. Stir in the slaked cornflour, bring it back to the boil for 2 minutes, finish with cream and season.""",
    "tomato_soup_with_oats": """Tomato soup with oats
Serves 4

2 x 400g tins plum tomatoes
1 litre veg stock
40g porridge oats
1 onion, chopped
2 slices stale sourdough, torn
2 tbsp olive oil
1 tsp sugar

1. Soften the onion in the oil for 10 minutes. Add the rest and simmer 20 minutes.
2. Blend smooth.""",
    "warm_cherry_sauce": """Cherry sauce, warm
Serves 6

2 cups frozen cherries
1/2 cup orange juice
1/4 cup sugar
1 heaped tbsp arrowroot
1 tbsp cold water

1. Simmer cherries, juice and sugar 8 minutes.
2. Slake the arrowroot in the cold water, stir it in, and take it off the heat as soon as it clears.""",
}
